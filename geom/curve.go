package geom

import (
	"math"

	"github.com/paulmach/orb"
)

// CubicAt is the point of a cubic curve at parameter t.
func CubicAt(p0, p1, p2, p3 orb.Point, t float64) orb.Point {
	a, b, c := Lerp(p0, p1, t), Lerp(p1, p2, t), Lerp(p2, p3, t)
	return Lerp(Lerp(a, b, t), Lerp(b, c, t), t)
}

// CubicDir is the derivative of a cubic curve by its parameter at t, in mm; not of length 1.
func CubicDir(p0, p1, p2, p3 orb.Point, t float64) orb.Point {
	u := 1 - t
	a, b, c := Sub(p1, p0), Sub(p2, p1), Sub(p3, p2)
	return orb.Point{
		3 * (u*u*a[0] + 2*u*t*b[0] + t*t*c[0]),
		3 * (u*u*a[1] + 2*u*t*b[1] + t*t*c[1]),
	}
}

// SplitCubic cuts a cubic curve at parameter t into the control points of the part before and the
// part after (de Casteljau).
func SplitCubic(p0, p1, p2, p3 orb.Point, t float64) (before, after [4]orb.Point) {
	a, b, c := Lerp(p0, p1, t), Lerp(p1, p2, t), Lerp(p2, p3, t)
	d, e := Lerp(a, b, t), Lerp(b, c, t)
	m := Lerp(d, e, t)
	return [4]orb.Point{p0, a, d, m}, [4]orb.Point{m, e, c, p3}
}

// CubicLength is the length of a cubic curve in mm, to 1e-9 of itself: Gauss-Legendre with eight
// points on parts that are hardly longer than their chord and on which halving changes nothing. The
// curve is first cut where it is slowest: there it may turn back, between any points looked at.
func CubicLength(p0, p1, p2, p3 orb.Point) float64 {
	rest := [4]orb.Point{p0, p1, p2, p3}
	tol := hullLength(rest) * 1e-12
	var sum, from float64
	for _, t := range slowest(rest) {
		var part [4]orb.Point
		part, rest = SplitCubic(rest[0], rest[1], rest[2], rest[3], (t-from)/(1-from))
		sum += cubicLength(part, gaussLength(part), tol, 0)
		from = t
	}
	return sum + cubicLength(rest, gaussLength(rest), tol, 0)
}

// slowest are the parameters inside a cubic where its speed is least or greatest, ascending: the
// roots of the product of its first and second derivatives, itself a cubic, found between the
// roots of that cubic's derivative.
func slowest(c [4]orb.Point) []float64 {
	// Derivatives by powers of t: u + v t + w t^2, and v + 2 w t.
	a, b, d := Sub(c[1], c[0]), Sub(c[2], c[1]), Sub(c[3], c[2])
	u, v, w := a, Mul(Sub(b, a), 2), Add(Sub(d, b), Sub(a, b))
	k0, k1, k2, k3 := Dot(u, v), Dot(v, v)+2*Dot(u, w), 3*Dot(v, w), 2*Dot(w, w)
	f := func(t float64) float64 { return k0 + t*(k1+t*(k2+t*k3)) }
	ends := []float64{0}
	if disc := k2*k2 - 3*k1*k3; disc > 0 && k3 > 0 {
		for _, t := range []float64{(-k2 - math.Sqrt(disc)) / (3 * k3), (-k2 + math.Sqrt(disc)) / (3 * k3)} {
			if t > 0 && t < 1 {
				ends = append(ends, t)
			}
		}
	}
	ends = append(ends, 1)
	var roots []float64
	for i := range len(ends) - 1 {
		lo, hi := ends[i], ends[i+1]
		if !(f(lo)*f(hi) < 0) {
			continue
		}
		rising := f(hi) > 0
		lo, _ = Halve(lo, hi, 60, func(t float64) bool { return (f(t) > 0) != rising })
		if lo > 0 && lo < 1 {
			roots = append(roots, lo)
		}
	}
	return roots
}

// Halve narrows a range by bisection, at most so many times and until no number is between its ends: where low says of
// the middle that the result is above it, the middle becomes the lower end, else the upper one.
func Halve(lo, hi float64, most int, low func(v float64) bool) (float64, float64) {
	for range most {
		mid := (lo + hi) / 2
		last := mid == lo || mid == hi
		if low(mid) {
			lo = mid
		} else {
			hi = mid
		}
		if last {
			break
		}
	}
	return lo, hi
}

func cubicLength(c [4]orb.Point, whole, tol float64, depth int) float64 {
	a, b := SplitCubic(c[0], c[1], c[2], c[3], 0.5)
	la, lb := gaussLength(a), gaussLength(b)
	hull := hullLength(c)
	even := hull-Dist(c[0], c[3]) <= 0.01*hull || !(hull > tol)
	if depth >= 40 || even && !(math.Abs(la+lb-whole) > tol) {
		return la + lb
	}
	return cubicLength(a, la, tol, depth+1) + cubicLength(b, lb, tol, depth+1)
}

func hullLength(c [4]orb.Point) float64 {
	return Dist(c[0], c[1]) + Dist(c[1], c[2]) + Dist(c[2], c[3])
}

// Abscissae and weights of the eight-point Gauss-Legendre rule, NIST Digital Library of
// Mathematical Functions, section 3.5(v).
var gauss8 = [4][2]float64{
	{0.1834346424956498049394761, 0.3626837833783619829651504},
	{0.5255324099163289858177390, 0.3137066458778872873379622},
	{0.7966664774136267395915539, 0.2223810344533744705443560},
	{0.9602898564975362316835609, 0.1012285362903762591525314},
}

// gaussLength takes the derivative as 3 (a + t b + t^2 c), told once for all eight places.
func gaussLength(p [4]orb.Point) float64 {
	d0, d1, d2 := Sub(p[1], p[0]), Sub(p[2], p[1]), Sub(p[3], p[2])
	bx, by := 2*(d1[0]-d0[0]), 2*(d1[1]-d0[1])
	cx, cy := d0[0]-2*d1[0]+d2[0], d0[1]-2*d1[1]+d2[1]
	speed := func(t float64) float64 {
		x, y := d0[0]+t*(bx+t*cx), d0[1]+t*(by+t*cy)
		return math.Sqrt(x*x + y*y)
	}
	var sum float64
	for _, g := range gauss8 {
		sum += g[1] * (speed(0.5-g[0]/2) + speed(0.5+g[0]/2))
	}
	return 1.5 * sum
}

// CubicAtLength is the parameter at which a cubic curve has run s mm, 0 <= t <= 1: Newton's method,
// kept between bounds.
func CubicAtLength(p0, p1, p2, p3 orb.Point, s float64) float64 {
	whole := CubicLength(p0, p1, p2, p3)
	if !(s > 0) {
		return 0
	}
	if s >= whole {
		return 1
	}
	lo, hi, t := 0.0, 1.0, s/whole
	for range 60 {
		part, _ := SplitCubic(p0, p1, p2, p3, t)
		off := CubicLength(part[0], part[1], part[2], part[3]) - s
		if math.Abs(off) <= 1e-12*whole || hi-lo < 1e-15 {
			break
		}
		if off > 0 {
			hi = t
		} else {
			lo = t
		}
		t -= off / Norm(CubicDir(p0, p1, p2, p3, t))
		if !(t > lo && t < hi) {
			t = (lo + hi) / 2
		}
	}
	return t
}
