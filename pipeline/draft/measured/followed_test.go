package measured

import (
	"strings"
	"testing"
)

// TestSeamFollowsSeam: where the side seam goes on in that of the hip nothing crosses, though both edges bear one name; the
// waist, which crosses at the other end, is looked at.
func TestSeamFollowsSeam(t *testing.T) {
	const draft = `style: Skirt
unit: cm
draft front:
  O: start
  S: from O out 20, up 2
  K: from O out 24, down 20
  H: from O out 24, down 50
  E: from O down 50
  waist: line O to S
  hip curve: line S to K
  side: line K to H
  hem: line H to E
  centre: line E to O
  outline: waist, hip curve, side, hem, centre on the fold
pieces:
  front: front; cut 1 on the fold; pointed at waist
  back: front; cut 1 on the fold; pointed at waist
allow: 1.5
sewn:
  - front hip curve = back hip curve
  - front side = back side
`
	var told []string
	for _, f := range seamFindings(drawText(t, draft)) {
		told = append(told, f.Message+"; "+f.Mend)
	}
	if len(told) != 1 || !strings.HasPrefix(told[0], "the waist where front hip curve is sewn to back hip curve makes a ") ||
		!strings.Contains(told[0], "degrees on front and ") {
		t.Errorf("told are\n%s", strings.Join(told, "\n"))
	}
}
