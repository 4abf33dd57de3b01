package measured

import (
	"testing"

	"tracewheel/config/samples"
)

func drawn(t testing.TB, file, body string) *engine {
	t.Helper()
	e, err := draw(samples.Read(file), file, Options{Body: body})
	if err != nil {
		t.Fatal(err)
	}
	return e
}

func TestFerry(t *testing.T) {
	for _, b := range []string{"A", "B"} {
		e := drawn(t, "ferry-smock.yaml", b)
		for _, f := range e.findings {
			t.Log(f.Line, f.Severity, f.Message)
		}
		for _, pc := range e.pieces {
			t.Log(b, pc.name, area(pc.worn), area(pc.edges))
			for i, ed := range pc.edges {
				t.Log("   ", ed.name, pc.worn[i].c.length(), ed.c.length())
			}
		}
		for _, p := range e.pairs {
			t.Log(p)
		}
		for _, p := range e.girths {
			t.Log(p)
		}
	}
}
