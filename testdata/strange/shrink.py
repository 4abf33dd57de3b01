# Leaves out of DXF files what a general writing library puts in and the format does not ask for:
#   python3 shrink.py FILE.dxf...
# Kept are the header's version, code page, unit and next handle; the tables of line types, layers, text styles,
# block records and, where an entity has extended data, of the applications it is from; blocks; entities; of the
# objects the clips of inserts. Bytes that stay are not changed.
import itertools, struct, sys

HEADER = {b'$ACADVER', b'$DWGCODEPAGE', b'$INSUNITS', b'$HANDSEED'}
TABLES = {b'LTYPE', b'LAYER', b'STYLE', b'BLOCK_RECORD'}
# handles of layouts, plot styles and materials, which lie among the objects
HANDLES = {b'LAYER': (b'347', b'390'), b'BLOCK_RECORD': (b'340',)}

def size(code, data, at):
    """Bytes of a binary value, by the DXF reference's table of group codes; 0 is a text that ends with a zero."""
    if code in (1004,) or 310 <= code < 320: return 1 + data[at]
    for first, last, n in ((10, 59, 8), (60, 79, 2), (90, 99, 4), (110, 149, 8), (160, 169, 8), (170, 179, 2), (210, 239, 8),
                           (270, 289, 2), (290, 299, 1), (370, 389, 2), (400, 409, 2), (420, 429, 4), (440, 459, 4),
                           (460, 469, 8), (1010, 1059, 8), (1060, 1070, 2), (1071, 1071, 4)):
        if first <= code <= last: return n
    return 0

def tags(data):
    """Each tag as (code, value, its bytes), after what stands before the first."""
    if b'Binary DXF' not in data[:22]:
        lines = data.splitlines(keepends=True)
        return b'', [(c.strip(), v.strip(), c + v) for c, v in itertools.zip_longest(lines[::2], lines[1::2], fillvalue=b'')]
    at, out, wide = 22, [], data[23] == 0
    while at < len(data):
        start, code = at, data[at]
        if wide: code, at = struct.unpack_from('<H', data, at)[0], at + 2
        elif code == 255: code, at = struct.unpack_from('<H', data, at + 1)[0], at + 3
        else: at += 1
        n = size(code, data, at) or data.index(b'\0', at) + 1 - at
        out.append((b'%d' % code, data[at:at + n].rstrip(b'\0'), data[start:at + n]))
        at += n
    return data[:22], out

def split(list, begins):
    """The list in groups, a new one at each tag that begins one."""
    groups = []
    for t in list:
        if begins(t) or not groups: groups.append([])
        groups[-1].append(t)
    return groups

def named(group, code=b'2'):
    return next((v for c, v, _ in group if c == code), b'')

def header(body):
    return [t for g in split(body, lambda t: t[0] == b'9') if g[0][1] in HEADER for t in g]

def tables(body, wanted):
    out = []
    for g in split(body, lambda t: t[:2] == (b'0', b'TABLE')):
        if named(g) in wanted: out += [t for t in g if t[0] not in HANDLES.get(named(g), ())]
    return out

def objects(body):
    groups = split(body, lambda t: t[0] == b'0')
    clips = {named(g, b'5') for g in groups if g[0][1] == b'SPATIAL_FILTER'}
    while True: # and the dictionaries that lead to a clip
        more = {named(g, b'5') for g in groups if any(c in (b'350', b'360') and v in clips for c, v, _ in g)} - clips
        if not more: break
        clips |= more
    return [t for g in groups if named(g, b'5') in clips for t in g]

def shrink(data):
    before, all = tags(data)
    out, wanted = [], TABLES | ({b'APPID'} if any(c == b'1001' for c, _, _ in all) else set())
    for s in split(all, lambda t: t[:2] in ((b'0', b'SECTION'), (b'0', b'EOF'))):
        kind, change = named(s[:2]), {b'HEADER': header, b'TABLES': lambda body: tables(body, wanted), b'OBJECTS': objects}
        if kind == b'CLASSES': continue
        if kind in change and s[-1][1] == b'ENDSEC':
            body = change[kind](s[2:-1])
            if not body: continue
            s = s[:2] + body + s[-1:]
        out += s
    return before + b''.join(t[2] for t in out)

if __name__ == '__main__':
    for name in sys.argv[1:]:
        with open(name, 'rb') as f: data = f.read()
        with open(name, 'wb') as f: f.write(shrink(data))
