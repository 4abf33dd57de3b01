package jobpicture

import (
	"bytes"
	"math"
	"regexp"
	"strconv"
	"sync"
)

// smallGrid is into how many steps a small picture divides its longer side: cards show it at 120 px.
const smallGrid = 300

// smallKept is how many small pictures are kept, by the sums of the whole ones.
const smallKept = 200

// smallPictures keeps what was made small: the first page asks for one of each job.
type smallPictures struct {
	mu    sync.Mutex
	bySum map[string][]byte
}

func (k *smallPictures) of(sum string, svg []byte) []byte {
	k.mu.Lock()
	defer k.mu.Unlock()
	if s, is := k.bySum[sum]; is {
		return s
	}
	if k.bySum == nil || len(k.bySum) >= smallKept {
		k.bySum = map[string][]byte{}
	}
	s := Small(svg)
	k.bySum[sum] = s
	return s
}

var (
	viewBox   = regexp.MustCompile(`viewBox="0 0 ([0-9.]+) ([0-9.]+)"`)
	onePath   = regexp.MustCompile(`<path[^>]* d="([^"]*)"/>\n?`)
	unneeded  = regexp.MustCompile(`(?s)<desc>.*?</desc>\n?| data-[a-z]+="[^"]*"| stroke-line(?:join|cap)="round"`)
	pathPoint = regexp.MustCompile(`([MLZ])(?:(-?[0-9.]+)[ ,](-?[0-9.]+))?`)
)

// Small is a picture that this program drew as a card shows it: the same lines, their points on a coarse grid, and without
// letters, which nobody could read there.
func Small(svg []byte) []byte {
	m := viewBox.FindSubmatch(svg)
	if m == nil {
		return svg
	}
	wide, _ := strconv.ParseFloat(string(m[1]), 64) // of digits, as it was found
	high, _ := strconv.ParseFloat(string(m[2]), 64)
	step := math.Ceil(max(wide, high) / smallGrid)
	out := unneeded.ReplaceAll(svg, nil)
	return onePath.ReplaceAllFunc(out, func(path []byte) []byte {
		d := onePath.FindSubmatchIndex(path)
		short := coarse(path[d[2]:d[3]], step)
		if len(short) == 0 {
			return nil
		}
		return bytes.Join([][]byte{path[:d[2]], short, path[d[3]:]}, nil)
	})
}

// coarse puts the points of a path onto a grid and leaves out what has become one point.
func coarse(d []byte, step float64) (out []byte) {
	begun, points := 0, 0
	var last [2]float64
	end := func(closed bool) {
		switch {
		case points < 2:
			out = out[:begun]
		case closed:
			out = append(out, 'Z')
		}
		begun, points = len(out), 0
	}
	for _, m := range pathPoint.FindAllSubmatch(d, -1) {
		if m[1][0] == 'Z' {
			end(true)
			continue
		}
		x, _ := strconv.ParseFloat(string(m[2]), 64) // of digits, as it was found
		y, _ := strconv.ParseFloat(string(m[3]), 64)
		at := [2]float64{math.Round(x/step) * step, math.Round(y/step) * step}
		if m[1][0] == 'M' {
			end(false)
		} else if at == last {
			continue
		}
		out = append(out, m[1][0])
		out = strconv.AppendFloat(out, at[0], 'f', -1, 64)
		out = append(out, ' ')
		out = strconv.AppendFloat(out, at[1], 'f', -1, 64)
		last, points = at, points+1
	}
	end(false)
	return out
}
