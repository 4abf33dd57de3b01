# Makes the strange drafts of this folder and their true answers. The DXF files are written by ezdxf
# 0.18.1, the SVG ones as plain text; areas, lengths, boxes and allowances are computed by shapely
# 1.8.5 (GEOS 3.11) and plain formulas on curves of thousands of points. Neither knows this program.
# Which findings and verdicts are expected is this project's own choice of words.
import math, json, os, ezdxf, random
from ezdxf.math import Matrix44
from shapely.geometry import Polygon, LineString, LinearRing, Point
from shapely import affinity
from shrink import shrink
OUT=os.path.dirname(os.path.abspath(__file__)); os.makedirs(OUT,exist_ok=True)
DONE=[]
def ring(p): return Polygon(p)
def fig(pts):
    P=Polygon(pts); b=P.bounds
    return dict(area_mm2=P.area,perimeter_mm=P.exterior.length,width_mm=b[2]-b[0],height_mm=b[3]-b[1])
def allow(cut,sews,fold=None):
    c=LinearRing(cut)
    if fold: c=c.difference(LineString(fold).buffer(1e-4))
    ds=[]
    for s in sews:
        L=LineString(s); n=max(2,int(L.length/0.2))
        ds+= [c.distance(L.interpolate(i*L.length/n)) for i in range(n+1)]
        ds+= [c.distance(Point(q)) for q in s]
    return dict(min_mm=min(ds),max_mm=max(ds))
def piece(name,cut=None,sew=None,sews=None,fold=None,size='',quantity=0,notches=0):
    d=dict(name=name,size=size,quantity=quantity,notches=notches)
    d['m']=fig(cut if cut else sew)
    if cut and (sew or sews):
        d['allowance']=allow(cut,sews or [list(sew)+[sew[0]]],fold)
    else: d['allowance']=None
    return d
def done(fn,pieces,rules=(),verdict='accept',not_rules=(),**kw):
    json.dump(dict(file=fn,pieces=pieces,rules=list(rules),verdict=verdict,not_rules=list(not_rules),**kw),open(f'{OUT}/{fn}.answers.json','w'),indent=1)
    DONE.append(fn)
def arc(cx,cy,r,a0,a1,n=2000):
    return [(cx+r*math.cos(math.radians(a0+(a1-a0)*i/n)),cy+r*math.sin(math.radians(a0+(a1-a0)*i/n))) for i in range(n+1)]
def bez(p0,p1,p2,p3,n=1000):
    r=[]
    for i in range(n+1):
        t=i/n;u=1-t
        r.append(tuple(u**3*a+3*u*u*t*b+3*u*t*t*c+t**3*d for a,b,c,d in zip(p0,p1,p2,p3)))
    return r
def rect(x,y,w,h): return [(x,y),(x+w,y),(x+w,y+h),(x,y+h)]
def svg(fn,body,head='width="1000mm" height="1000mm" viewBox="0 0 1000 1000"',pre=''):
    open(f'{OUT}/{fn}','w').write(f'<?xml version="1.0"?>{pre}<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" {head}>\n{body}\n</svg>\n')
def pts(p,k=1): return ' '.join(f'{x*k:.6f},{y*k:.6f}' for x,y in p)
def R(a,dx=0,dy=0,deg=0,sx=1,sy=1):
    c,s=math.cos(math.radians(deg)),math.sin(math.radians(deg))
    return [(dx+sx*x*c-sy*y*s, dy+sx*x*s+sy*y*c) for x,y in a]

# the standard body: a shape with a bezier armhole, true curves
def bodice(sa=10,hem=30):
    # sew: (0,0) hem to (220,0), side to (230,250), armhole bez to (150,430), shoulder to (70,450), neck bez to (0,380), centre back to 0,0
    sew=[(0,0),(220,0),(230,250)]+bez((230,250),(180,280),(150,350),(150,430))[1:]+[(70,450)]+bez((70,450),(65,410),(40,380),(0,380))[1:]
    return sew
def uneven_box(x,y,w,h,l,r,b,t):
    return rect(x-l,y-b,w+l+r,h+b+t)

S=rect(100,100,200,300)
C=uneven_box(100,100,200,300,10,12,30,8)
# 1 svg cm
svg('01-cm.svg',f'<g data-piece="Cuff" data-quantity="2"><path class="cut" d="M9 7h22.2v33.8h-22.2z"/><path class="sew" d="M10 10l20 0 0 30-20 0z"/><path class="grain" d="M20 15v10"/><path class="notch" d="M9 25h.4"/></g>','width="60cm" height="60cm" viewBox="0 0 60 60"')
done('01-cm.svg',[piece('Cuff',rect(90,70,222,338),rect(100,100,200,300),quantity=2,notches=1)])
# 2 svg inch root, viewBox in hundredths, nested transforms+use twice, mirrored
body='''<defs><g id="p"><polygon class="cut" points="0,0 800,0 800,1200 0,1000"/><polygon class="sew" points="50,50 750,50 750,1130 50,955"/><line class="grain" x1="400" y1="200" x2="400" y2="800"/></g></defs>
<g transform="translate(100 100) scale(1)"><g data-piece="LEFT"><use xlink:href="#p" transform="rotate(30 400 500)"/></g></g>
<g data-piece="RIGHT"><use href="#p" x="10" y="20" transform="translate(2400,200) scale(-1,1)"/></g>'''
svg('02-in-use.svg',body,'width="30in" height="20in" viewBox="0 0 3000 2000"')
k=.254
c=[(0,0),(800,0),(800,1200),(0,1000)]; s=[(50,50),(750,50),(750,1130),(50,955)]
c=[(x*k,y*k) for x,y in c]; s=[(x*k,y*k) for x,y in s]
def rot(p,a): return R(p,deg=a)
done('02-in-use.svg',[piece('LEFT',rot(c,30),rot(s,30)),piece('RIGHT',c,s)])
# 3 px without viewBox
svg('03-px-noviewbox.svg','<path class="cut" d="M100 100h800v1200H100z"/><path class="sew" d="M140 140h720v1120H140z"/>','width="2000" height="2000"')
k=25.4/96
done('03-px-noviewbox.svg',[piece(None,rect(0,0,800*k,1200*k),rect(40*k,40*k,720*k,1120*k))],['units-assumed'])
# 4 viewBox only
svg('04-viewbox-only.svg','<path class="cut" d="M100 100h800v1200H100z"/>','viewBox="0 0 2000 2000"')
done('04-viewbox-only.svg',None,['units-unknown'],'refuse')
# 5 percent widths
svg('05-percent.svg','<path class="cut" d="M100 100h800v1200H100z"/>','width="100%" height="100%" viewBox="0 0 2000 2000"')
done('05-percent.svg',None,['units-unknown'],'refuse')
# 6 preserveAspectRatio mid meet mismatched
svg('06-aspect.svg','<path class="cut" d="M10 10h80v60h-80z"/>','width="400mm" height="200mm" viewBox="0 0 100 100"')
done('06-aspect.svg',[piece(None,rect(0,0,160,120))],['no-sew-line'])
svg('07-aspect-none.svg','<path class="cut" d="M10 10h80v60h-80z"/>','width="400mm" height="200mm" viewBox="0 0 100 100" preserveAspectRatio="none"')
done('07-aspect-none.svg',[piece(None,rect(0,0,320,120))],['units-disagree'])
# 8 arcs in odd grammar, flags touching; circle units; hidden things
svg('08-oddpath.svg','''<g data-piece="Disc &amp; &quot;Ring&quot; – № 1"><path class="cut" d="m200 100a100 100 0 01100 100 100 100 0 01-100 100 100,100 0 0 1-100-100A100 100 0 01200 100Z"/><circle class="sew" cx="200" cy="200" r="9cm"/><circle class="drill" cx="200" cy="200" r="2"/><path class="cutout" d="M150 150h20v20h-20z"/><path class="cut" style="display:none" d="M0 0h1v1z"/><path class="cut" visibility="hidden" d="M0 0h10v10z"/></g>''','width="400mm" height="400mm" viewBox="0 0 400 400"')
# r=9cm in user units: 9cm = 340.157 px -> user units 340 => larger than cut. So use 90 user units with unit px value
done('08-oddpath.svg',None,['sew-line-outside','left-out'],'refuse')
svg('09-oddpath.svg','''<g data-piece="Disc &amp; &quot;Ring&quot; – № 1"><path class="cut" d="m200 100a100 100 0 01100 100 100 100 0 01-100 100 100,100 0 0 1-100-100A100 100 0 01200 100Z"/><circle class="sew" cx="200" cy="200" r="90"/><circle class="drill" cx="200" cy="200" r="2"/><path class="cutout" d="M150 150h20v20h-20z"/><path class="cut" style="display:none" d="M0 0h1v1z"/><path class="cut" visibility="hidden" d="M0 0h10v10z"/></g>''','width="400mm" height="400mm" viewBox="0 0 400 400"')
p=piece('Disc & "Ring" – № 1',arc(0,0,100,0,360,20000)[:-1],arc(0,0,90,0,360,20000)[:-1])
done('09-oddpath.svg',[p],['left-out'])
# 10 bodice in beziers, role by id suffixes, a label of another namespace; clockwise; sizes several
sew=bodice()
def bod(k,dx,dy):
    return f'M{dx} {dy}h{220*k}L{dx+230*k} {dy+250*k}C{dx+180*k} {dy+280*k} {dx+150*k} {dy+350*k} {dx+150*k} {dy+430*k}L{dx+70*k} {dy+450*k}c{-5*k} {-40*k} {-30*k} {-70*k} {-70*k} {-70*k}Z'
bs=''
an=[]
for i,(sz,k) in enumerate((('34',.9),('36',1),('38',1.1))):
    dx,dy=40+i*320,50
    cutp=Polygon([(x*k,y*k) for x,y in sew]).buffer(10,join_style=2,mitre_limit=10)
    cc=list(cutp.exterior.coords)[:-1]
    bs+=f'<g data-piece="BODICE BACK" data-size="{sz}" data-quantity="2"><polygon id="cut-{i}" points="{pts([(x+dx,y+dy) for x,y in cc])}"/><path id="sew_{i}" d="{bod(k,dx,dy)}"/><path id="notch{i}a" d="M{dx+0} {dy-10}v5"/></g>'
    an.append(piece('BODICE BACK',cc,[(x*k,y*k) for x,y in sew],size=sz,quantity=2,notches=1))
svg('10-sizes.svg',bs)
done('10-sizes.svg',an)
# 11 groups as layers, told by a label of another namespace
svg('11-layers.svg',f'''<g xmlns:i="http://example.org/ns" i:groupmode="layer" i:label="CUT lines"><path d="M90 70h222v338h-222z"/></g><g xmlns:i="http://example.org/ns" i:label="Stitch"><rect x="100" y="100" width="200" height="300"/></g><g xmlns:i="http://example.org/ns" i:label="Notches"><line x1="90" y1="250" x2="94" y2="250"/><line x1="312" x2="308" y1="250" y2="250"/></g><text x="150" y="200">Piece Name: Ärmel
</text>''')
done('11-layers.svg',[piece('Ärmel',rect(90,70,222,338),rect(100,100,200,300),notches=2)])
# 12 lone outline no roles
svg('12-lone.svg','<path d="M90 70h222v338h-222z"/>')
done('12-lone.svg',[piece(None,rect(90,70,222,338))],['allowance-unstated'])
# 13 doubled outline
svg('13-doubled.svg','<path class="cut" d="M90 70h222v338h-222z"/><path class="cut" d="M312 408h-222v-338h222z"/><path class="sew" d="M100 100h200v300h-200z"/>')
done('13-doubled.svg',[piece(None,C,S)],['outline-doubled'])
# 14 self crossing
svg('14-bowtie.svg','<path class="cut" d="M90 70L312 408H90L312 70z"/>')
done('14-bowtie.svg',None,['outline-crosses-itself'],'refuse')
# 15 open by 3mm
svg('15-open.svg','<path class="cut" d="M90 70h222v338h-222V73"/><path class="sew" d="M100 100h200v300h-200z"/>')
done('15-open.svg',None,['outline-open'],'refuse')
# 16 gap 0.3
svg('16-gap.svg','<path class="cut" d="M90 70h222v338h-222V70.3"/><path class="sew" d="M100 100h200v300h-200z"/>')
done('16-gap.svg',[piece(None,C,S)],['gap-bridged'])
# 17 shrinking allowance
svg('17-shrink.svg','<path class="cut" d="M90 90L310 90L306 410H90z"/><path class="sew" d="M100 100h200v300h-200z"/>')
done('17-shrink.svg',[piece(None,[(90,90),(310,90),(306,410),(90,410)],rect(100,100,200,300))],['allowance-narrow'],'refuse')
# 18 sew outside
svg('18-outside.svg','<path class="cut" d="M100 100h200v300h-200z"/><path class="sew" d="M90 90h220v320h-220z"/>')
done('18-outside.svg',None,['sew-line-outside'],'refuse')
# 19 half with fold and open sew
svg('19-fold.svg','<g data-piece="Skirt front"><path class="cut" d="M100 50L400 50L480 700L100 720Z"/><path class="sew" d="M100 65L386.4 65L462.8 686L100 705"/><line class="fold" x1="100" y1="50" x2="100" y2="720"/><line class="grain" x1="120" y1="100" x2="120" y2="500"/></g>')
c=[(100,50),(400,50),(480,700),(100,720)]
done('19-fold.svg',[piece('Skirt front',c,None,[[(100,65),(386.4,65),(462.8,686),(100,705)]],fold=[(100,50),(100,720)])])
# 20 fold closed sew
svg('20-fold-closed.svg','<g data-piece="Skirt front"><path class="cut" d="M100 50L400 50L480 700L100 720Z"/><path class="sew" d="M100 65L386.4 65L462.8 686L100 705z"/><line class="fold" x1="100" y1="50" x2="100" y2="720"/></g>')
done('20-fold-closed.svg',[piece('Skirt front',c,[(100,65),(386.4,65),(462.8,686),(100,705)],[[(100,65),(386.4,65),(462.8,686),(100,705)]],fold=[(100,50),(100,720)])])
# 21 notch too deep, outward, off line, near corner
svg('21-notches.svg','<path class="cut" d="M90 70h222v338h-222z"/><path class="sew" d="M100 100h200v300h-200z"/><path class="notch" d="M90 250h11"/><path class="notch" d="M312 250h5"/><path class="notch" d="M91.2 300h4"/><path class="notch" d="M92 70v6"/>')
done('21-notches.svg',[piece(None,C,S,notches=4)],['notch-deeper-than-allowance','notch-points-outward','notch-off-cut-line','notch-near-corner'],'refuse')
# 22 nested svg and symbol with viewBox
svg('22-nested.svg','''<symbol id="s" viewBox="0 0 10 10"><path class="cut" d="M1 1h8v8h-8z"/><path class="sew" d="M1.5 1.5h7v7h-7z"/></symbol><use href="#s" x="100" y="100" width="200" height="200"/><svg x="400" y="100" width="300" height="200" viewBox="0 0 30 20"><rect class="cut" x="1" y="1" width="28" height="18" rx="3"/></svg>''')
rr=arc(0,0,30,0,90,3000); W,H=280,180
rc=[(x+W-30,y+H-30) for x,y in arc(0,0,30,0,90)]+[(x+30,y+H-30) for x,y in arc(0,0,30,90,180)]+[(x+30,y+30) for x,y in arc(0,0,30,180,270)]+[(x+W-30,y+30) for x,y in arc(0,0,30,270,360)]
done('22-nested.svg',[piece(None,rect(0,0,160,160),rect(10,10,140,140)),piece(None,rc)])
# 23 stylesheet hidden and css class case
svg('23-css.svg','<style>.gone{display:none} g.x .y{visibility:hidden}</style><path class="gone cut" d="M0 0h50v50z"/><g class="x"><path class="cut y" d="M0 0h60v50z"/></g><path class="Cut-Line_2" d="M90 70h222v338h-222z"/><path class="SEWLINE" d="M100 100h200v300h-200z"/>')
done('23-css.svg',[piece(None,C,S)],['left-out'])
# 24 entity bomb
open(f'{OUT}/24-bomb.svg','w').write('<!DOCTYPE svg [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]><svg xmlns="http://www.w3.org/2000/svg" width="10mm" height="10mm" viewBox="0 0 1 1"><path class="cut" d="M0 0h1v1z"/></svg>')
done('24-bomb.svg',None,['unreadable'],'refuse')
svg('25-comma.svg','<rect class="cut" x="10,5" y="0" width="100" height="200"/>')
done('25-comma.svg',None,['unreadable'],'refuse')
# 26 text transforms, tspans odd characters, script piece names
svg('26-odd-text.svg','<path class="cut" d="M90 70h222v338h-222z"/><path class="sew" d="M100 100h200v300h-200z"/><text x="150" y="200">“Ж” %%d ;PU; \x7f <tspan>Tasche</tspan></text>')
done('26-odd-text.svg',[piece('“Ж” %%d ;PU; \x7f Tasche',C,S)],nameloose=True)
# 27 skew
svg('27-skew.svg','<g transform="skewX(20) scale(2 .5)"><path class="cut" d="M45 140h111v676h-111z"/></g>')
t=math.tan(math.radians(20)); q=[(2*x+t*.5*y,.5*y) for x,y in rect(45,140,111,676)]
done('27-skew.svg',[piece(None,q)],['no-sew-line'])
# 28 sizes nested, same place
svg('28-nested-sizes.svg','<g data-piece="A" data-size="S"><path class="cut" d="M90 90h220v320h-220z"/><path class="sew" d="M100 100h200v300h-200z"/></g><g data-piece="A" data-size="M"><path class="cut" d="M80 80h240v340h-240z"/><path class="sew" d="M90 90h220v320h-220z"/></g>')
done('28-nested-sizes.svg',[piece('A',rect(0,0,220,320),rect(10,10,200,300),size='S'),piece('A',rect(0,0,240,340),rect(10,10,220,320),size='M')])
# ---- DXF
def aama(doc,blk,name,cut,sew=None,size='M',qty=1,notch=(),drill=(),grain=None,mirror=None,cutouts=(),lw=False,sews=()):
    b=doc.blocks.new(blk)
    def poly(p,lay,closed=True):
        if lw: b.add_lwpolyline(p,close=closed,dxfattribs={'layer':lay})
        else:
            b.add_polyline2d(p,close=closed,dxfattribs={'layer':lay}) if ezdxf.__version__ else None
    poly(cut,'1')
    if sew: poly(sew,'14')
    for s in sews: poly(s,'14',False)
    for c in cutouts: poly(c,'11')
    for (x,y,lay,dep,wid,ang) in notch:
        b.add_point((x,y,wid),dxfattribs={'layer':lay,'thickness':dep,'angle':ang})
    for d in drill: b.add_point(d,dxfattribs={'layer':'13'})
    if grain: b.add_line(*grain,dxfattribs={'layer':'7'})
    if mirror: b.add_line(*mirror,dxfattribs={'layer':'6'})
    for i,t in enumerate((f'PIECE NAME: {name}',f'SIZE: {size}',f'QUANTITY: {qty}')):
        b.add_text(t,dxfattribs={'layer':'1','height':5}).set_pos((cut[0][0]+5,cut[0][1]+10*i))
    return b
def newdoc(v='R12',unit=None,units=None):
    d=ezdxf.new(v)
    if unit is not None and v!='R12': d.header['$INSUNITS']=unit
    elif v!='R12': d.header['$INSUNITS']=0
    if units: d.modelspace().add_text(f'UNITS: {units}',dxfattribs={'layer':'1'})
    return d
def save(d,fn,fmt='asc'):
    d.saveas(f'{OUT}/{fn}',fmt=fmt)
    with open(f'{OUT}/{fn}','rb') as f: b=shrink(f.read())
    with open(f'{OUT}/{fn}','wb') as f: f.write(b)
# 30 ENGLISH, mirrored inserts, rotated, every notch layer
for fn,units,k in (('30-english.dxf','ENGLISH',25.4),('31-metric.dxf','METRIC',1)):
    d=newdoc(units=units); m=d.modelspace()
    f=25.4/k
    cut=[(0,0),(9*f,0),(8*f,14*f),(1*f,14*f)]
    P=Polygon(cut).buffer(-.5*f,join_style=2); sw=list(P.exterior.coords)[:-1]
    nn=[(2*f,0,'4',.15*f,0,90),(3*f,0,'4',.15*f,.1*f,90),(4*f,0,'80',.15*f,.1*f,90),(5*f,0,'81',.15*f,.1*f,90),(6*f,0,'82',.15*f,.1*f,90),(7*f,0,'83',.15*f,.1*f,90)]
    aama(d,'P1','FRONT',cut,sw,'10',2,nn,drill=[(4*f,6*f)],grain=((4*f,2*f),(4*f,10*f)))
    m.add_blockref('P1',(0,0))
    c2=[(x*1.2,y) for x,y in cut]; s2=list(Polygon(c2).buffer(-.5*f,join_style=2).exterior.coords)[:-1]
    aama(d,'P2','BACK',c2,s2,'10',1)
    m.add_blockref('P2',(20*f,5*f),dxfattribs={'xscale':-1,'rotation':0})
    save(d,fn)
    kk=k
    sc=lambda p:[(x*kk,y*kk) for x,y in p]
    done(fn,[piece('FRONT',sc(cut),sc(sw),size='10',quantity=2,notches=6),piece('BACK',sc(c2),sc(s2),size='10',quantity=1)])
# 32 several sizes one block each, all at origin, half with fold, sew open
d=newdoc(units='METRIC');m=d.modelspace();an=[]
for sz,g in (('8',0),('10',8),('12',16)):
    cut=[(0,0),(200+g,0),(220+g,600),(0,610)]
    sl=[(0,20),(190+g*0.999,20),(209+g,590),(0,600)]
    aama(d,f'SK-{sz}','SKIRT FRONT',cut,None,sz,1,sews=[sl],mirror=((0,0),(0,610)),grain=((50,100),(50,500)))
    m.add_blockref(f'SK-{sz}',(0,0))
    an.append(piece('SKIRT FRONT',cut,None,[sl],fold=[(0,0),(0,610)],size=sz,quantity=1))
save(d,'32-sizes-fold.dxf'); done('32-sizes-fold.dxf',an)
# 33 plain R2018, layer case, shuffled lines with gaps, clockwise, in cm
random.seed(3)
for fn,v,unit,k,fmt in (('33-cm-r2018.dxf','R2018',5,10,'asc'),('34-in-r2004.dxf','R2004',1,25.4,'asc'),('35-bin-r2010.dxf','R2010',4,1,'bin'),('36-m-r2000.dxf','R2000',6,1000,'asc'),('37-r2007.dxf','R2007',4,1,'asc'),('38-bin-r12.dxf','R12',None,1,'bin'),('39-r2013.dxf','R2013',4,1,'asc')):
    d=newdoc(v,unit); m=d.modelspace()
    f=1/k
    segs=[]
    # cut rounded rect 300x400 r 60 lines and arcs
    W,H,r=300,400,60
    segs+= [('l',(r,0),(W-r,0)),('l',(W,r),(W,H-r)),('l',(W-r,H),(r,H)),('l',(0,H-r),(0,r)),
            ('a',(W-r,r),270,360),('a',(W-r,H-r),0,90),('a',(r,H-r),90,180),('a',(r,r),180,270)]
    random.shuffle(segs)
    for s in segs:
        if s[0]=='l':
            a,b=(s[1],s[2]) if random.random()<.5 else (s[2],s[1])
            m.add_line((a[0]*f,a[1]*f),(b[0]*f,b[1]*f),dxfattribs={'layer':'Cut_Line'})
        else: m.add_arc((s[1][0]*f,s[1][1]*f),r*f,s[2],s[3],dxfattribs={'layer':'CUT_line'})
    # sew: lwpolyline (or polyline in r12) with bulges, clockwise, 10 in
    q=math.tan(math.pi/8); e=10; rr=50
    v4=[(60,e),(240,e),(290,60),(290,340),(240,390),(60,390),(10,340),(10,60)]
    bl=[0,q,0,q,0,q,0,q]
    # reverse: vertices reversed, bulge of segment i->i+1 negative
    vr=v4[::-1]; br=[-bl[(7-i-1)%8] for i in range(8)]
    P=[(x*f,y*f,b) for (x,y),b in zip(vr,br)]
    if v=='R12': m.add_polyline2d([(x,y,0,0,b) for x,y,b in P],format='xyseb',close=True,dxfattribs={'layer':'sew'})
    else: m.add_lwpolyline([(x,y,b) for x,y,b in P],format='xyb',close=True,dxfattribs={'layer':'sew'})
    m.add_text('Piece Name : MITTEL',dxfattribs={'layer':'TEXT','height':5*f}).set_pos((100*f,100*f))
    m.add_line((0,200*f),(4*f,200*f),dxfattribs={'layer':'NOTCH'})
    m.add_line((W*f,200*f),((W-4)*f,200*f),dxfattribs={'layer':'Notch'})
    save(d,fn,fmt)
    def rrect(W,H,r,x0=0,y0=0):
        return [(x+x0,y+y0) for x,y in [(a+W-r,b+H-r) for a,b in arc(0,0,r,0,90)]+[(a+r,b+H-r) for a,b in arc(0,0,r,90,180)]+[(a+r,b+r) for a,b in arc(0,0,r,180,270)]+[(a+W-r,b+r) for a,b in arc(0,0,r,270,360)]]
    if unit is None: done(fn,None,['units-unknown'],'refuse')
    else: done(fn,[piece('MITTEL',rrect(300,400,60),rrect(280,380,50,10,10),notches=2)])
# 40 splines & ellipses
d=newdoc('R2010',4); m=d.modelspace()
cps=[(0,0),(80,-30),(200,20),(300,0),(320,150),(300,300),(150,330),(0,300)]
sp=m.add_spline(dxfattribs={'layer':'cut'}); sp.set_closed([ (x,y,0) for x,y in cps]) if hasattr(sp,'set_closed') else None
# closed uniform cubic by 4-pt basis
def bsp(c,n=800):
    o=[];N=len(c)
    for i in range(N):
        a,b,cc,dd=[c[(i+j)%N] for j in range(4)]
        for s in range(n):
            t=s/n
            w=((1-t)**3/6,(3*t**3-6*t*t+4)/6,(-3*t**3+3*t*t+3*t+1)/6,t**3/6)
            o.append(tuple(w[0]*a[z]+w[1]*b[z]+w[2]*cc[z]+w[3]*dd[z] for z in (0,1)))
    return o
m.add_ellipse((700,150),(200,0),.5,dxfattribs={'layer':'cut'})
m.add_ellipse((700,150),(190,0),90/190,dxfattribs={'layer':'sew'})
# half ellipse + line: rotated major axis, with flipped extrusion
m.add_ellipse((1200,150),(100,100),.4,math.pi/2,3*math.pi/2,dxfattribs={'layer':'cut'})
ax=(100,100);mi=(-40,40)
e=[(1200+ax[0]*math.cos(t)+mi[0]*math.sin(t),150+ax[1]*math.cos(t)+mi[1]*math.sin(t)) for t in [math.pi/2+math.pi*i/4000 for i in range(4001)]]
m.add_line(e[-1],e[0],dxfattribs={'layer':'cut'})
save(d,'40-spline-ellipse.dxf')
el=lambda a,b:[(a*math.cos(2*math.pi*i/20000),b*math.sin(2*math.pi*i/20000)) for i in range(20000)]
p2=piece(None,el(200,100),el(190,90))
done('40-spline-ellipse.dxf',[piece(None,bsp(cps)),p2,piece(None,e)],anyorder=True)
# 41 many chords bodice (0.2mm chords) with sew as chords, R2000; uneven allowances per edge
d=newdoc('R2000',4); m=d.modelspace()
sw=bodice(); cut=list(Polygon(sw).buffer(12,join_style=2,mitre_limit=10,resolution=64).exterior.coords)[:-1]
m.add_lwpolyline(cut,close=True,dxfattribs={'layer':'Boundary'}); m.add_lwpolyline(sw,close=True,dxfattribs={'layer':'SEAM 1'})
m.add_mtext('PIECE NAME: R\\U+00FCcken\\PQUANTITY: 2 pairs\\PSIZE: 40',dxfattribs={'layer':'label','insert':(50,100),'char_height':5})
save(d,'41-chords.dxf'); done('41-chords.dxf',[piece('Rücken',cut,sw,size='40',quantity=4)])
# 42 arrayed, unevenly scaled, nested mirrored insert with OCS
d=newdoc('R2010',4); m=d.modelspace()
b=d.blocks.new('in',base_point=(10,10)); b.add_lwpolyline([(0,0,0),(100,0,math.tan(math.pi/8)),(150,50,0),(150,120,0),(0,120,0)],format='xyb',close=True,dxfattribs={'layer':'0'})
b2=d.blocks.new('mid'); b2.add_blockref('in',(5,5),dxfattribs={'xscale':-1.5,'yscale':.8,'rotation':20,'layer':'0'})
m.add_blockref('mid',(0,0),dxfattribs={'layer':'cut','row_count':2,'column_count':3,'row_spacing':300,'column_spacing':400})
base=[(0,0),(100,0)]+arc(100,50,50,270,360)[1:]+[(150,120),(0,120)]
t=R(base,deg=20,sx=-1.5,sy=.8)
save(d,'42-array.dxf'); done('42-array.dxf',[piece(None,t) for _ in range(6)],['no-sew-line'])
# 43 flipped extrusion lwpolyline + arc
d=newdoc('R2010',4); m=d.modelspace()
m.add_lwpolyline([(0,0,0),(-100,0,-math.tan(math.pi/8)),(-150,50,0),(-150,120,0),(0,120,0)],format='xyb',close=True,dxfattribs={'layer':'cut','extrusion':(0,0,-1)})
save(d,'43-flip.dxf'); done('43-flip.dxf',[piece(None,base)],['no-sew-line'])
# 44 UNITS vs INSUNITS
d=newdoc('R2000',1,units='METRIC'); m=d.modelspace(); aama(d,'A','YOKE',C,S,'M',2,lw=True); m.add_blockref('A',(0,0))
save(d,'44-units-disagree.dxf'); done('44-units-disagree.dxf',[piece('YOKE',C,S,size='M',quantity=2)],['units-disagree'])
# 45 no units
d=newdoc(); m=d.modelspace(); aama(d,'A','YOKE',C,S,'M',2); m.add_blockref('A',(0,0))
save(d,'45-no-units.dxf'); done('45-no-units.dxf',None,['units-unknown'],'refuse')
# 46 metric in cm
d=newdoc(units='METRIC'); m=d.modelspace(); sc=lambda p:[(x/10,y/10) for x,y in p]; aama(d,'A','YOKE',sc(C),sc(S),'M',2); m.add_blockref('A',(0,0))
save(d,'46-metric-cm.dxf'); done('46-metric-cm.dxf',None,['size-implausible'],'refuse')
# 47 block never inserted; missing block
d=newdoc(units='METRIC'); m=d.modelspace(); aama(d,'A','YOKE',C,S,'M',2); aama(d,'B','LOST',C,S); m.add_blockref('A',(0,0))
save(d,'47-uninserted.dxf'); done('47-uninserted.dxf',[piece('YOKE',C,S,size='M',quantity=2)],['left-out'])
# 48 cutouts & drill circle, hole on cut layer, text odd
d=newdoc(units='METRIC'); m=d.modelspace(); b=aama(d,'A',r'G\U+00FCrtel "1;2"%%d',C,S,'M',2,cutouts=[rect(150,200,30,30)],drill=[(200,300)]); b.add_circle((250,300),2,dxfattribs={'layer':'13'}); m.add_blockref('A',(0,0))
save(d,'48-cutouts.dxf'); done('48-cutouts.dxf',[piece('Gürtel "1;2"°',C,S,size='M',quantity=2)])
# 49 notch deeper interchange
d=newdoc(units='ENGLISH'); m=d.modelspace(); i=lambda p:[(x/25.4,y/25.4) for x,y in p]
aama(d,'A','YOKE',i(C),i(S),'M',2,notch=[(C[0][0]/25.4,250/25.4,'4',.5,0,0)]); m.add_blockref('A',(0,0))
save(d,'49-deep.dxf'); done('49-deep.dxf',[piece('YOKE',C,S,size='M',quantity=2,notches=1)],['notch-deeper-than-allowance'],'refuse')
# 50 gap and overrun shuffled 2 lines
d=newdoc('R2010',4); m=d.modelspace()
L=[((0.1,0),(300,0)),((300,0.25),(300,400)),((300.2,400),(0,400)),((0,400.3),(0,0))]
random.shuffle(L)
for a,b in L: m.add_line(a,b,dxfattribs={'layer':'CUT'})
m.add_lwpolyline(rect(10,10,280,380),close=True,dxfattribs={'layer':'SEW'})
save(d,'50-gaps.dxf'); done('50-gaps.dxf',[piece(None,rect(0,0,300,400),rect(10,10,280,380))],['gap-bridged','overlap-trimmed'],tol=3e-3)
# 51 gap 2mm
d=newdoc('R2010',4); m=d.modelspace()
for a,b in (((0,0),(300,0)),((300,2),(300,400)),((300,400),(0,400)),((0,400),(0,0))): m.add_line(a,b,dxfattribs={'layer':'CUT'})
save(d,'51-open.dxf'); done('51-open.dxf',None,['outline-open'],'refuse')
# 52 frozen/off layers, invisible, paper space
d=newdoc('R2010',4); m=d.modelspace()
d.layers.new('cut old').off(); d.layers.new('cut frozen').freeze()
m.add_lwpolyline(rect(500,0,100,100),close=True,dxfattribs={'layer':'cut old'}); m.add_lwpolyline(rect(700,0,100,100),close=True,dxfattribs={'layer':'cut frozen'})
m.add_lwpolyline(C,close=True,dxfattribs={'layer':'cut'}); m.add_lwpolyline(S,close=True,dxfattribs={'layer':'sew'})
d.layout('Layout1').add_lwpolyline(rect(0,0,50,50),close=True,dxfattribs={'layer':'cut'})
save(d,'52-hidden.dxf'); done('52-hidden.dxf',[piece(None,C,S)],['left-out'])
# 53 lone outline on layer 1 interchange, qty word
d=newdoc(units='METRIC'); m=d.modelspace(); aama(d,'A','YOKE',C,None,'M','2 LEFT'); m.add_blockref('A',(0,0)); save(d,'53-nosew.dxf'); done('53-nosew.dxf',[piece('YOKE',C,size='M',quantity=2)],['no-sew-line'])
# 54 no roles plain dxf
d=newdoc('R2010',4); m=d.modelspace(); m.add_lwpolyline(C,close=True,dxfattribs={'layer':'Layer7x'}); save(d,'54-norole.dxf'); done('54-norole.dxf',[piece(None,C)],['allowance-unstated'])
# 55 sew lines as loose segments per seam on 14 (closed piece), LWPOLYLINE interchange R2000, one edge narrower by design 6
d=newdoc('R2000',4,units='METRIC'); m=d.modelspace()
ss=[[S[0],S[1]],[S[1],S[2]],[S[2],S[3]],[S[3],S[0]]]
aama(d,'A','YOKE',C,None,'M',1,sews=ss,lw=True); m.add_blockref('A',(500,100),dxfattribs={'rotation':90}); save(d,'55-seams.dxf'); done('55-seams.dxf',[piece('YOKE',[(y,x) for x,y in C],[(y,x) for x,y in S],size='M',quantity=1)])
# 56 far from origin
d=newdoc('R2010',4); m=d.modelspace(); o=lambda p:[(x+4e5,y-3e5) for x,y in p]; m.add_lwpolyline(o(C),close=True,dxfattribs={'layer':'cut'});m.add_lwpolyline(o(S),close=True,dxfattribs={'layer':'sew'}); save(d,'56-far.dxf'); done('56-far.dxf',[piece(None,C,S)])
# 57 insert with entity in block on layer 0, two inserts of a piece block mirrored (plain)
d=newdoc('R2010',4); m=d.modelspace(); b=d.blocks.new('P'); b.add_lwpolyline(C,close=True,dxfattribs={'layer':'cut'}); b.add_lwpolyline(S,close=True,dxfattribs={'layer':'sew'}); b.add_line((90,250),(94,250),dxfattribs={'layer':'notch'})
m.add_blockref('P',(0,0)); m.add_blockref('P',(1000,0),dxfattribs={'xscale':-1}); m.add_blockref('P',(1200,0),dxfattribs={'rotation':180,'extrusion':(0,0,-1)}) 
save(d,'57-plain-inserts.dxf'); done('57-plain-inserts.dxf',[piece(None,C,S,notches=1)]*3)
# 58 fit-point spline as armhole, mark
d=newdoc('R2010',4); m=d.modelspace(); m.add_lwpolyline(C,close=True,dxfattribs={'layer':'cut'}); m.add_lwpolyline(S,close=True,dxfattribs={'layer':'sew'}); m.add_spline([(150,150,0),(200,250,0),(250,160,0)],dxfattribs={'layer':'mark'}); save(d,'58-fit.dxf'); done('58-fit.dxf',[piece(None,C,S)])
# 59 rational spline = exact half circle joined with line
d=newdoc('R2010',4); m=d.modelspace(); w=math.sqrt(.5)
sp=m.add_rational_spline([(100,0),(100,100),(0,100),(-100,100),(-100,0)],[1,w,1,w,1],degree=2,knots=[0,0,0,1,1,2,2,2],dxfattribs={'layer':'cut'}); m.add_line((-100,0),(100,0),dxfattribs={'layer':'cut'}); save(d,'59-rational.dxf'); done('59-rational.dxf',[piece(None,arc(0,0,100,0,180,20000))])
# 60 T notch as loose lines; V by two lines; castle
svg('60-notchshapes.svg','<path class="cut" d="M90 70h222v338h-222z"/><path class="sew" d="M100 100h200v300h-200z"/><path class="notch" d="M90 200h4"/><path class="notch" d="M94 198v4"/><path class="notch" d="M312 248l-4 2"/><path class="notch" d="M308 250l4 2"/><path class="notch" d="M150 70v8h4v-8"/><path class="notch" d="M200 70l3 8 3-8z"/>')
done('60-notchshapes.svg',[piece(None,C,S,notches=4)])
d=newdoc('R2010',4); m=d.modelspace(); m.add_lwpolyline(C,close=True,dxfattribs={'layer':'cut'}); m.add_lwpolyline(S,close=True,dxfattribs={'layer':'sew'})
for a,b in (((90,200),(94,200)),((94,198),(94,202)),((312,248),(308,250)),((308,250),(312,252))): m.add_line(a,b,dxfattribs={'layer':'notch'})
m.add_circle((200,70),1,dxfattribs={'layer':'notch'}); m.add_point((220,70),dxfattribs={'layer':'notch'})
save(d,'61-notchshapes.dxf'); done('61-notchshapes.dxf',[piece(None,C,S,notches=4)])
# 62 block loop, 63 array bomb, NaN
open(f'{OUT}/62-loop.dxf','w').write('\n'.join('0,SECTION,2,BLOCKS,0,BLOCK,2,A,10,0,20,0,0,INSERT,2,A,8,cut,10,0,20,0,0,ENDBLK,0,ENDSEC,0,SECTION,2,ENTITIES,0,INSERT,2,A,8,cut,10,0,20,0,0,ENDSEC,0,EOF'.split(','))+'\n')
done('62-loop.dxf',None,['unreadable'],'refuse')
open(f'{OUT}/63-array.dxf','w').write('\n'.join('0,SECTION,2,BLOCKS,0,BLOCK,2,A,10,0,20,0,0,LINE,8,cut,10,0,20,0,11,5,21,5,0,ENDBLK,0,ENDSEC,0,SECTION,2,ENTITIES,0,INSERT,2,A,8,cut,10,0,20,0,70,30000,71,30000,0,ENDSEC,0,EOF'.split(','))+'\n')
done('63-array.dxf',None,['unreadable'],'refuse')
open(f'{OUT}/64-nan.dxf','w').write('\n'.join('0,SECTION,2,ENTITIES,0,LINE,8,cut,10,nan,20,0,11,5,21,5,0,ENDSEC,0,EOF'.split(','))+'\n')
done('64-nan.dxf',None,['unreadable'],'refuse')
open(f'{OUT}/65-noeof.dxf','w').write('\n'.join('0,SECTION,2,ENTITIES,0,LINE,8,cut,10,1,20,0,11,5,21,5,0,ENDSEC'.split(','))+'\n')
done('65-noeof.dxf',None,['unreadable'],'refuse')
# 66 clockwise cut, ccw sew, viewBox offset, cut path with two subpaths = hole
svg('66-hole.svg','<g data-piece="Mask" data-quantity="1"><path class="cut" d="M90 70v338h222v-338zM150 200h60v20h-60z"/></g>','width="500mm" height="500mm" viewBox="50 40 500 500"')
done('66-hole.svg',[piece('Mask',C,quantity=1)],['cutout-or-sew-line'])
svg('67-sewlike.svg','<path class="cut" d="M90 70h222v338h-222z"/><path class="cut" d="M100 80h202v318h-202z"/>')
done('67-sewlike.svg',None,['cutout-or-sew-line'],'refuse')
# 68 title names
svg('68-title.svg','<g><title>Sleeve</title><g class="cut"><path d="M90 70h222v338h-222z"/></g><g class="sew"><path d="M100 100h200v300h-200z"/></g></g>')
done('68-title.svg',[piece('Sleeve',C,S)])
svg('69-sewonly.svg','<g data-piece="P"><path class="sew" d="M100 100h200v300h-200z"/></g>')
done('69-sewonly.svg',[piece('P',None,S)],['allowance-missing'],None)
# 70 check square wrong
svg('70-check.svg','<path class="cut" d="M90 70h222v338h-222z"/><path class="sew" d="M100 100h200v300h-200z"/><rect class="check" x="500" y="500" width="93.75" height="93.75"/>')
done('70-check.svg',None,['units-disagree'],None)
# 71 quality curve in 84
d=newdoc(units='METRIC'); m=d.modelspace()
ch=arc(100,100,100,0,360,24)[:-1]; b=aama(d,'A','HAT',ch,arc(100,100,88,0,360,240)[:-1],'M',1); b.add_polyline2d(arc(100,100,100,0,360,360)[:-1],close=True,dxfattribs={'layer':'84'}); m.add_blockref('A',(0,0)); save(d,'71-84.dxf')
done('71-84.dxf',[piece('HAT',ch,arc(100,100,88,0,360,240)[:-1],size='M',quantity=1)],['quality-line-differs'])

# ---- second lot
cutp='M90 70h222v338h-222z'; sewp='M100 100h200v300h-200z'
for n,(u,mm) in enumerate((('pt',25.4/72),('pc',25.4/6),('Q',.25),('q',.25))):
    svg(f'80-{u}{n}.svg',f'<path class="cut" d="{cutp}"/><path class="sew" d="{sewp}"/>',f'width="{1000/mm}{u}" height="{1000/mm}{u}" viewBox="0 0 1000 1000"')
    done(f'80-{u}{n}.svg',[piece(None,C,S)])
svg('81-heightonly.svg',f'<path class="cut" d="{cutp}"/><path class="sew" d="{sewp}"/>','height="500mm" viewBox="0 0 1000 1000"')
h=lambda p:[(x/2,y/2) for x,y in p]
done('81-heightonly.svg',[piece(None,h(C),h(S))])
svg('82-smooth.svg','<g data-piece="x" data-quantity="2 pairs" data-size="12 / 14"><path class="cut" d="m1e2 1.5E+2c0-50 100-50 100 0S300 200 300 150t50 0 50 0V3e2H.1e3zm20,20h50v50h-50z"/></g>')
def qbez(p0,p1,p2,n=1000): return [((1-t)**2*p0[0]+2*t*(1-t)*p1[0]+t*t*p2[0],(1-t)**2*p0[1]+2*t*(1-t)*p1[1]+t*t*p2[1]) for t in [i/n for i in range(n+1)]]
o=bez((100,150),(100,100),(200,100),(200,150))+bez((200,150),(200,200),(300,200),(300,150))[1:]+qbez((300,150),(300,150),(350,150))[1:]+qbez((350,150),(400,150),(400,150))[1:]+[(400,300),(100,300)]
done('82-smooth.svg',[piece('x',o,size='12 / 14',quantity=4)],['cutout-or-sew-line'])
svg('83-smallarc.svg','<path class="cut" d="M100 200A1 1 0 0 0 300 200A50 50 720 1 0 100 200"/>')
done('83-smallarc.svg',[piece(None,arc(0,0,100,0,360,20000)[:-1])])
svg('84-useuse.svg','<defs><path id="a" class="cut" d="M0 0h100v150H0z"/><g id="b"><use href="#a" transform="rotate(90)"/></g><use id="c" href="#b" x="10"/></defs><use href="#c" y="50" x="300"/><use href="#c" transform="matrix(0 1 1 0 500 400)"/>')
done('84-useuse.svg',[piece(None,rect(0,0,150,100)),piece(None,rect(0,0,100,150))])
svg('85-usebomb.svg','<defs><path id="u0" class="cut" d="M0 0h100v150H0z"/>'+''.join(f'<g id="u{i}">'+f'<use href="#u{i-1}"/>'*10+'</g>' for i in range(1,9))+'</defs><use href="#u8"/>')
done('85-usebomb.svg',None,['unreadable'],'refuse')
svg('86-useloop.svg','<g id="g"><path class="cut" d="M0 0h100v150H0z"/><use href="#g"/></g>')
done('86-useloop.svg',None,['unreadable'],None)
svg('87-badpath.svg','<path class="cut" d="M0 0h100v150H0 L 5 z"/>'); done('87-badpath.svg',None,['unreadable'],'refuse')
svg('88-both.svg','<g id="cut and sew"><path d="M90 70h222v338h-222z"/></g><path class="cutter-note" d="M1 1h3"/><path class="cut" d="M90 70h222v338h-222z"/>'); done('88-both.svg',[piece(None,C)],['left-out'])
svg('89-pct.svg','<rect class="cut" x="9%" y="7%" width="22.2%" height="33.8%"/><polygon class="sew" points="100 100 300 100 300 400 100 400 100 100"/>'); done('89-pct.svg',[piece(None,C,S)])
svg('90-rounded.svg','<rect class="cut" x="10" y="10" width="300" height="200" ry="20%"/>'); 
# ry 20% of 1000 = 200 > capped 100
rc=[(x+200,y+100) for x,y in arc(0,0,100,-90,90)]+[(x+100,y+100) for x,y in arc(0,0,100,90,270)]
rc=[(x+200,y+100) for x,y in arc(0,0,100,-90,90)]+[(x,y+100) for x,y in arc(0,0,100,90,270)]

done('90-rounded.svg',[piece(None,el(150,100))])
svg('91-prefix.svg','','width="1mm" height="1mm"')
open(f'{OUT}/91-prefix.svg','w',encoding='latin-1').write('<?xml version="1.0" encoding="ISO-8859-1"?><s:svg xmlns:s="http://www.w3.org/2000/svg" width="1000mm" height="1000mm" viewBox="0 0 1000 1000"><s:g data-piece="Gürtel"><s:path class="cut" d="M90 70h222v338h-222z"/><s:path class="sew" d="M100 100h200v300h-200z"/></s:g></s:svg>')
done('91-prefix.svg',[piece('Gürtel',C,S)])
svg('92-switch.svg',f'<switch><g class="cut"><path d="{cutp}"/></g><g class="cut"><path d="M0 0h500v500z"/></g></switch><a class="sew"><path d="{sewp}"/></a><clipPath id="q"><path class="cut" d="M0 0h900v900z"/></clipPath><text class="cut" x="3" y="3">hm</text>'); done('92-switch.svg',[piece(None,C,S)])
svg('93-nearclosed.svg','<path class="cut" d="M90 70h222v338h-222L90 70.04"/><path class="sew" d="M100 100h200v300h-200z"/>'); done('93-nearclosed.svg',[piece(None,C,S)],not_rules=['gap-bridged'])
svg('94-foldnotch.svg','<path class="cut" d="M100 50L400 50L480 700L100 720Z"/><path class="sew" d="M100 65L386.4 65L462.8 686L100 705"/><line class="fold" x1="100" y1="50" x2="100" y2="720"/><path class="notch" d="M100 300h5"/>')
done('94-foldnotch.svg',None,['notch-on-fold'],'refuse')
svg('95-curvedfold.svg','<path class="cut" d="M100 50L400 50L480 700L100 720Q80 400 100 50"/><line class="fold" x1="100" y1="50" x2="100" y2="720"/>')
done('95-curvedfold.svg',None,['fold-not-straight'],'refuse')
svg('96-grainout.svg',f'<path class="cut" d="{cutp}"/><path class="sew" d="{sewp}"/><path class="grain" d="M80 250h60"/>'); done('96-grainout.svg',[piece(None,C,S)],['grain-outside'])
svg('97-cutoutout.svg',f'<path class="cut" d="{cutp}"/><path class="sew" d="{sewp}"/><path class="cutout" d="M300 100h50v50h-50z"/>'); done('97-cutoutout.svg',None,['cutout-outside'],'refuse')
svg('98-huge.svg','<path class="cut" d="M0 0h90v90z"/>','width="90m" height="90m" viewBox="0 0 90 90"'); done('98-huge.svg',None,['units-unknown'],'refuse')
svg('98-big.svg','<path class="cut" d="M0 0h90v80H0z"/>','width="9000mm" height="9000mm" viewBox="0 0 90 90"'); done('98-big.svg',None,['size-implausible'],'refuse')
svg('99-tiny.svg','<path class="cut" d="M0 0h9v8H0z"/>','width="90mm" height="90mm" viewBox="0 0 90 90"'); done('99-tiny.svg',None,['size-implausible'],'refuse')
svg('A0-crossing-halves.svg','<path class="cut" d="M90 70h222v338h-222z M400 70h100"/>'); done('A0-crossing-halves.svg',None,['outline-open'],'refuse')
# DXF: CRLF, comments, 1251 text
d=newdoc(units='METRIC'); m=d.modelspace(); aama(d,'A','YOKE',C,S,'M',2); m.add_blockref('A',(0,0)); save(d,'B0.dxf')
t=open(f'{OUT}/B0.dxf').read().replace('PIECE NAME: YOKE','piece  name :   КОКЕТКА'); os.remove(f'{OUT}/B0.dxf')
t='999\nmade by hand\n'+t
t=t.replace('ANSI_1252','ANSI_1251')
open(f'{OUT}/B0-cp1251.dxf','wb').write(t.replace('\r\n','\n').replace('\n','\r\n').encode('cp1251')+b'\x1a')
done('B0-cp1251.dxf',[piece('КОКЕТКА',C,S,size='M',quantity=2)])
# polyline with spline frame & repeated vertex not closed
d=newdoc(units='METRIC'); m=d.modelspace(); b=aama(d,'A','COLLAR',C+[C[0]],None,'M',1); 
for e in list(b): 
    if e.dxftype()=='POLYLINE': e.close(False)
pl=b.add_polyline2d(S,close=True,dxfattribs={'layer':'14'})
m.add_blockref('A',(0,0)); save(d,'B1-repeat.dxf'); done('B1-repeat.dxf',[piece('COLLAR',C,S,size='M',quantity=1)])
# curve-fit polyline w/ frame points
d=newdoc('R2000',4); m=d.modelspace(); pl=m.add_polyline2d([(0,0),(300,0),(300,200),(0,200)],close=True,dxfattribs={'layer':'cut'}); pl.dxf.flags|=4
pl.vertices[0].dxf.flags=8
fr=pl.append_vertices([(999,999)],dxfattribs={'flags':16}) 
save(d,'B2-frame.dxf'); done('B2-frame.dxf',[piece(None,rect(0,0,300,200))])
# circle scaled unevenly in insert; arc in flipped OCS chained
d=newdoc('R2010',4); m=d.modelspace(); b=d.blocks.new('C'); b.add_circle((0,0),100,dxfattribs={'layer':'cut'}); m.add_blockref('C',(0,0),dxfattribs={'xscale':2,'yscale':1,'rotation':30})
m.add_arc((-1000,0),100,0,180,dxfattribs={'layer':'cut','extrusion':(0,0,-1)}); m.add_line((900,0),(1100,0),dxfattribs={'layer':'cut'})
save(d,'B3-ocs.dxf'); done('B3-ocs.dxf',[piece(None,R(el(200,100),deg=30)),piece(None,arc(0,0,100,0,180,20000))])
# ellipse with flipped extrusion
d=newdoc('R2010',4); m=d.modelspace(); m.add_ellipse((0,0),(200,0),.5,0,math.pi,dxfattribs={'layer':'cut','extrusion':(0,0,-1)}); m.add_line((-200,0),(200,0),dxfattribs={'layer':'cut'}); m.add_line((0,0),(0,-8),dxfattribs={'layer':'notch'})
save(d,'B4-ellipse-flip.dxf'); done('B4-ellipse-flip.dxf',[piece(None,[(x,y) for x,y in [(200*math.cos(math.pi*i/9000),100*math.sin(math.pi*i/9000)) for i in range(9001)]],notches=1)])
# periodic spline closed
d=newdoc('R2010',4); m=d.modelspace(); sp=m.add_spline(dxfattribs={'layer':'cut'}); sp.set_closed([(x,y,0) for x,y in cps]); sp2=m.add_closed_spline([(x+600,y,0) for x,y in cps],dxfattribs={'layer':'cut'}) if hasattr(m,'add_closed_spline') else None
save(d,'B5-periodic.dxf'); done('B5-periodic.dxf',[piece(None,bsp(cps))]*(2 if sp2 else 1))
# open bspline armhole in outline: clamped cubic w/4 cps = bezier, exact; sew too
d=newdoc('R2013',4); m=d.modelspace()
m.add_lwpolyline([(230,250),(220,0),(0,0),(0,380)],dxfattribs={'layer':'sew'}); m.add_open_spline([(230,250,0),(180,280,0),(150,350,0),(150,430,0)],dxfattribs={'layer':'sew'}); m.add_line((150,430),(70,450),dxfattribs={'layer':'sew'}); m.add_open_spline([(0,380,0),(40,380,0),(65,410,0),(70,450,0)],dxfattribs={'layer':'sew'})
bp=Polygon(bodice()).buffer(10,join_style=2,mitre_limit=10,resolution=64); m.add_lwpolyline(list(bp.exterior.coords)[:-1],close=True,dxfattribs={'layer':'cut'})
save(d,'B6-bodice-spline.dxf'); done('B6-bodice-spline.dxf',[piece(None,list(bp.exterior.coords)[:-1],bodice())])
# mixed sizes different qty, one size missing sew -> note
d=newdoc(units='ENGLISH'); m=d.modelspace(); an=[]
for sz in ('XS','S/M','L'):
    kx={'XS':8,'S/M':9,'L':10}[sz]; cut=rect(0,0,kx,12); sw=rect(.375,.625,kx-.75,10.75)
    aama(d,f'B-{sz[0]}','Belt loop #2',cut,sw,sz,'4 PAIR' if sz=='L' else '1 pair'); m.add_blockref(f'B-{sz[0]}',(0,0)); i2=lambda p:[(x*25.4,y*25.4) for x,y in p]
    an.append(piece('Belt loop #2',i2(cut),i2(sw),size=sz,quantity=4 if sz=='L' else 2))
save(d,'B7-pairs.dxf'); done('B7-pairs.dxf',an)
# doubled outline in DXF: once as lwpolyline once as lines
d=newdoc('R2010',4); m=d.modelspace(); m.add_lwpolyline(C,close=True,dxfattribs={'layer':'cut'}); m.add_lwpolyline(S,close=True,dxfattribs={'layer':'sew'})
for i in range(4): m.add_line(C[i],C[(i+1)%4],dxfattribs={'layer':'CUT'})
save(d,'B8-doubled.dxf'); done('B8-doubled.dxf',[piece(None,C,S)],['outline-doubled'])
# 3D polyline refused / text etc
d=newdoc('R2010',4); m=d.modelspace(); m.add_polyline3d([(0,0,0),(100,0,5),(100,100,9),(0,100,0)],close=True,dxfattribs={'layer':'cut'}); m.add_lwpolyline(C,close=True,dxfattribs={'layer':'cut'})
save(d,'B9-3d.dxf'); done('B9-3d.dxf',None,['unreadable'],'refuse')
# missing block
d=newdoc(units='METRIC'); m=d.modelspace(); aama(d,'A','YOKE',C,S,'M',2); m.add_blockref('A',(0,0)); m.add_blockref('GONE',(0,0)); save(d,'C0-missing.dxf'); done('C0-missing.dxf',None,['unreadable'],None)
# allowance shrink on interchange inch
d=newdoc(units='ENGLISH'); m=d.modelspace(); cut=[(0,0),(8,0),(7.8,12),(0,12)]; sw=rect(.375,.375,7.25,11.25); aama(d,'A','YOKE',cut,sw,'M',2); m.add_blockref('A',(0,0)); save(d,'C1-shrink-in.dxf'); done('C1-shrink-in.dxf',[piece('YOKE',i2(cut),i2(sw),size='M',quantity=2)],['allowance-narrow'],'refuse')
# stepping allowance: hem wide by design per edge, no findings
svg('C2-hem.svg','<g data-piece="h"><path class="cut" d="M90 90H310L330 430H70z"/><path class="sew" d="M100 100H299.8L317 395H83z"/></g>')
done('C2-hem.svg',[piece('h',[(90,90),(310,90),(330,430),(70,430)],[(100,100),(299.8,100),(317,395),(83,395)])],not_rules=['allowance-narrow'])

