package devices

// Default gives what is taken for a device of a kind and language where the workroom file leaves a
// key out. Numbers of the languages come from their manuals; speeds and times are common practice
// and only serve estimates until somebody writes the machine's own.
func Default(kind Kind, lang Language) Profile {
	p := Profile{
		Kind: kind, Language: lang,
		Pen: PenProfile{Default: 1, Speed: 300, TravelSpeed: 400, Acceleration: 2000, LiftSeconds: 0.1},
		Port: PortProfile{
			Baud: 9600, DataBits: 8, Parity: "none", StopBits: 1,
			Flow: FlowXonXoff, Margin: 64, Buffer: 1024, Stall: 300, Block: 80, Window: 127,
		},
	}
	if kind.Prints() {
		return Profile{Kind: kind, Language: PDF, Patterns: PatternsOnce, Sheets: SheetProfile{Paper: "a4", Overlap: 10, Output: ToFolder}}
	}
	p.Patterns = PatternsOnce
	if kind.Cuts() {
		p.Patterns, p.LayWait = PatternsEveryCopy, 5
	}
	if lang == GCode {
		gantryDefaults(&p)
		return p
	}
	p.Plot = PlotProfile{
		Unit: 0.025, MinCoord: -32768, MaxCoord: 32767, InstructionBytes: 240,
		Long: "refuse", Labels: "strokes", PageEnd: "AF",
	}
	if lang == HPGL2 {
		p.Plot.MinCoord, p.Plot.MaxCoord = -(1 << 30), 1<<30-1
		p.Plot.Encoded, p.Plot.Long = true, "page-size"
		p.Plot.PageEnd, p.Plot.EndMargin = "PG", 10
	}
	return p
}

func gantryDefaults(p *Profile) {
	p.Gantry = GantryProfile{
		FeedCut: 3000, FeedSwivel: 600, FeedPlunge: 600, FeedTravel: 6000, Acceleration: 500,
		Decimals: 4, Arcs: true, Comments: true,
	}
	p.Port.Baud, p.Port.Flow, p.Port.StartWait = 115200, FlowLineAck, 2
	p.Port.Buffer = 128
	if p.Kind.Cuts() {
		p.Blade = BladeProfile{
			CutZ: -0.6, SwivelZ: -0.1, SafeZ: 5, Passes: 1,
			SwivelAngle: 10, LiftAngle: 60, Overcut: 1, ReentryOverlap: 5, AlignAt: [2]float64{5, 5},
		}
	}
	switch p.Kind {
	case DragKnife:
		p.Blade.Offset = 0.5
	case TangentialKnife:
		p.Gantry.Axis = "A"
	case PenGantry: // the pen goes by heights unless lines of its own are given: it touches at 0
		p.Blade.SafeZ = 5
	}
}
