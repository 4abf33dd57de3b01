// Package demo runs a made-up workroom with pretend machines: the wardrobe of an amateur theatre.
package demo

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"go.uber.org/zap"

	"tracewheel/config"
	"tracewheel/config/samples"
	"tracewheel/devices"
	"tracewheel/devices/gcode"
	"tracewheel/devices/hpgl"
	"tracewheel/devices/knife/blade"
	"tracewheel/devices/pretend"
	"tracewheel/geom"
	"tracewheel/pipeline"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/control/asker"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/logline"
	"tracewheel/pipeline/look"
	"tracewheel/pipeline/machinefile"
	"tracewheel/pipeline/making"
	"tracewheel/pipeline/newroom"
	"tracewheel/pipeline/pages"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/picture"
)

// Demo is a made-up workroom, the wardrobe of an amateur theatre, with a pretend plotter and a
// pretend cutter on pseudo-terminals. Nothing outside its folder is touched.
type Demo struct {
	dir     string
	out     io.Writer
	room    *config.Workroom
	shop    *pipeline.Workshop
	log     *zap.Logger
	pages   *pages.Pages
	plotter *pretend.Plotter
	cutter  *pretend.Cutter
	undo    []func()

	told map[int64]ledger.State // what was said of each job
	// finished is how many jobs had ended when the pictures were last written.
	finished int
}

// The demo's two machines, by their names in the sample workroom.
const (
	demoPlotter = "roll-plotter"
	demoCutter  = "knife-table"
)

// damaged is told instead of a state of a job whose line in the ledger cannot be read.
const damaged ledger.State = "damaged"

// demoDrops are what the demo drops, in this order.
var demoDrops = []struct{ device, file string }{
	{demoPlotter, "stagehand-apron.svg"},
	{demoPlotter, "usher-waistcoat.svg"},
	{demoPlotter, "ferry-smock.yaml"},
	{demoPlotter, "lamplighter-jacket.yaml"},
	{demoCutter, "leaf-crown.svg"},
	{demoCutter, "tool-roll.yaml"},
}

// New writes the workroom into a folder, which must be empty or not there yet, and starts the
// machines and the daemon.
func New(ctx context.Context, dir string, out io.Writer) (d *Demo, err error) {
	d = &Demo{dir: dir, out: out, told: map[int64]ledger.State{}}
	defer func() {
		if err != nil {
			err = errors.Join(err, d.Stop())
		}
	}()
	if _, err := newroom.Write(dir, making.Sample()); err != nil {
		return d, err
	}
	if err := d.machines(); err != nil {
		return d, err
	}
	log, closeLog, err := logline.Open(d.room, io.Discard)
	if err != nil {
		return d, err
	}
	d.undo, d.log = append(d.undo, closeLog), log
	if d.shop, err = pipeline.New(ctx, d.room, log); err != nil {
		return d, err
	}
	if err := d.shop.Start(ctx); err != nil {
		return d, err
	}
	d.pages = pages.Start(ctx, d.shop, log)
	return d, nil
}

// Reread takes the workroom file over at each signal and says so, until ctx ends.
func (d *Demo) Reread(ctx context.Context, signals <-chan os.Signal) {
	for {
		select {
		case <-signals:
			was := d.shop.Room()
			d.shop.Reread(d.log)
			if d.shop.Room() == was {
				fmt.Fprintf(d.out, "the workroom file is not taken over; why stands in %s\n", d.room.Path(d.room.Log.File))
			} else {
				fmt.Fprintln(d.out, "the workroom file is taken over")
			}
		case <-ctx.Done():
			return
		}
	}
}

// Entrance is the address of the workroom's page, for one browser, "" where it cannot be shown.
func (d *Demo) Entrance() string { return d.pages.Entrance() }

// machines starts both pretend devices and writes their ports into the workroom file.
func (d *Demo) machines() error {
	plot, err := pretend.NewPty()
	if err != nil {
		return fmt.Errorf("the demo needs a pseudo-terminal for its pretend plotter: %w", err)
	}
	d.plotter = pretend.NewPlotter(plot, pretend.PlotterOptions{Flow: devices.FlowXonXoff, Rate: 8000})
	d.undo = append(d.undo, d.plotter.Close)
	cut, err := pretend.NewPty()
	if err != nil {
		return fmt.Errorf("the demo needs a pseudo-terminal for its pretend cutter: %w", err)
	}
	d.cutter = pretend.NewCutter(cut, pretend.CutterOptions{Rate: 6000})
	d.undo = append(d.undo, d.cutter.Close)
	file := filepath.Join(d.dir, "workroom.yaml")
	text := string(config.SampleFile())
	for from, to := range map[string]string{
		"path: /dev/ttyUSB0 ":     "path: " + d.plotter.Path() + " ",
		"path: /dev/ttyACM0,":     "path: " + d.cutter.Path() + ",",
		"address: 127.0.0.1:7432": "address: 127.0.0.1:0", // beside a workroom that runs here
		"baud: 9600\n":            "baud: 115200\n",       // nobody waits for a pretend plotter as for a real one
		"kind: drag-knife\n":      "kind: drag-knife\n    lay_wait: 0.5\n",
	} {
		if !strings.Contains(text, from) {
			return fmt.Errorf("the sample workroom has no %q", from)
		}
		text = strings.Replace(text, from, to, 1)
	}
	if err := os.WriteFile(file, []byte(text), 0o644); err != nil {
		return err
	}
	d.room, err = config.Load(file, pattern.RuleNames())
	return err
}

// Room is the demo's workroom.
func (d *Demo) Room() *config.Workroom { return d.room }

// Drop puts the sample drafts into the folders, as a person would.
func (d *Demo) Drop() error {
	for _, s := range demoDrops {
		to := filepath.Join(d.room.Path(d.room.Folders.Inbox), s.device, s.file)
		if err := os.WriteFile(to, samples.Read(s.file), 0o644); err != nil {
			return err
		}
		fmt.Fprintf(d.out, "dropped  %-24s into %s\n", s.file, filepath.Join(d.room.Folders.Inbox, s.device))
	}
	return nil
}

// Watch tells how the jobs go until all have ended, and more than at the last Finish, or ctx ends.
// release lets the cutter's job go, as a person at the machine would.
func (d *Demo) Watch(ctx context.Context, release bool) error {
	moments, stop := d.shop.Jobs().Subscribe()
	defer stop()
	tick := time.NewTicker(150 * time.Millisecond)
	defer tick.Stop()
	percent := map[int64]int64{}
	for {
		select {
		case <-ctx.Done():
			return ctx.Err()
		case m := <-moments:
			d.tellProgress(m, percent)
		case <-tick.C:
			jobs, err := d.shop.Jobs().Jobs(ctx, ledger.Filter{Faulty: true})
			if err != nil {
				return err
			}
			ended, still := 0, 0
			for _, j := range jobs {
				if j.Fault != "" { // it stands still, the others go on
					still++
					if d.told[j.ID] != damaged {
						d.told[j.ID] = damaged
						fmt.Fprintf(d.out, "job %d    stands still: %s\n", j.ID, pattern.Printable(j.Fault+ledger.MendRow))
					}
					continue
				}
				if d.told[j.ID] != j.State {
					d.told[j.ID] = j.State
					d.tell(j)
					if j.State == ledger.Held && j.Ready && !release {
						fmt.Fprintf(d.out, "job %d    release it with: tracewheel release %d --config %s\n", j.ID, j.ID, d.room.File)
					}
				}
				if j.State.Ended() {
					ended++
				}
				if j.State == ledger.Held && j.Ready && release && j.Device == demoCutter {
					switch err := d.shop.Jobs().Release(asker.ByDemo(ctx), j.ID, nil, control.BedClear); {
					case err == nil:
						fmt.Fprintf(d.out, "job %d    released by the demo itself; in a workroom a person at the machine does that\n", j.ID)
					case !control.IsRefusal(err): // the one before it may not have ended
						return err
					}
				}
			}
			if ended+still == len(jobs) && ended >= len(demoDrops) && ended > d.finished {
				return nil
			}
		}
	}
}

func (d *Demo) tell(j ledger.Job) {
	line := fmt.Sprintf("job %d    %s for %s: %s", j.ID, pattern.Printable(j.File), j.Device, j.State.Plain())
	if trial := j.TrialSaid(); trial != "" {
		line += ", " + trial
	}
	if j.Reason != "" {
		line += " - " + pattern.Printable(j.Reason)
	}
	fmt.Fprintln(d.out, line)
}

// tellProgress says it at each quarter: a line that moves would be lost in a log.
func (d *Demo) tellProgress(m control.Progress, told map[int64]int64) {
	if m.Total == 0 || m.State != ledger.Processing {
		return
	}
	if q := 4 * m.Bytes / m.Total; q > told[m.Job] {
		told[m.Job] = q
		fmt.Fprintf(d.out, "job %d    %3d %% of %d bytes sent to %s\n", m.Job, 25*q, m.Total, m.Device)
	}
}

// Finish writes the pictures of what the machines really drew, by the bytes that they received, and
// says where to look.
func (d *Demo) Finish(ctx context.Context) error {
	drawn := filepath.Join(d.dir, "drawn")
	if err := os.MkdirAll(drawn, 0o755); err != nil {
		return err
	}
	views := map[string]picture.View{}
	plot, err := hpgl.Read(d.plotter.Received(), hpgl.OptionsFor(d.room.Devices[demoPlotter].Profile))
	if err != nil {
		return fmt.Errorf("what the plotter received: %w", err)
	}
	views[demoPlotter] = machinefile.PlotView("what the pretend plotter drew, read back from its bytes", plot)
	views[demoCutter] = d.cutView()
	names := []string{demoPlotter, demoCutter}
	for _, name := range names {
		c := picture.Device(views[name], picture.Options{})
		png, err := c.PNG(1600)
		if err != nil {
			return err
		}
		for ext, data := range map[string][]byte{".svg": c.SVG(), ".png": png} {
			if err := os.WriteFile(filepath.Join(drawn, name+ext), data, 0o644); err != nil {
				return err
			}
		}
	}
	return d.summary(ctx)
}

// cutView is where a simulated blade's tip went, driven by the bytes that the cutter received.
func (d *Demo) cutView() picture.View {
	p := d.room.Devices[demoCutter].Profile
	v := picture.View{Title: "where the pretend knife's tip went, by the bytes that it received", Width: p.Width}
	aside := 0.0 // each job beside the one before it
	for _, job := range bytes.SplitAfter(d.cutter.Received(), []byte("\nM2\n")) {
		trace := gcode.Read(job, gcode.ReadOptions{})
		res := blade.Simulate(trace.Moves, blade.Options{Offset: p.Blade.Offset})
		next := aside
		for _, c := range res.Cuts {
			path := c.Path.Apply(geom.Translate(aside, 0))
			next = max(next, path.Bound().Max[0]+20)
			v.Layers = append(v.Layers, picture.Layer{Kind: look.AsCut, Paths: []geom.Path{path}})
		}
		aside = next
	}
	return v
}

func (d *Demo) summary(ctx context.Context) error {
	jobs, err := d.shop.Jobs().Jobs(ctx, ledger.Filter{Faulty: true})
	if err != nil {
		return err
	}
	jobs = slices.DeleteFunc(jobs, func(j ledger.Job) bool { return j.Fault != "" }) // Watch told of them
	slices.SortFunc(jobs, func(a, b ledger.Job) int { return int(a.ID - b.ID) })
	var b bytes.Buffer
	d.finished = 0
	for _, j := range jobs {
		if j.State.Ended() {
			d.finished++
		}
	}
	fmt.Fprintf(&b, "\n%d of %d jobs have ended:\n", d.finished, len(jobs))
	for _, j := range jobs {
		line := fmt.Sprintf("  job %d  %-9s %-24s %s  %s", j.ID, j.State.Plain(), pattern.Printable(j.File), j.Device, j.TrialSaid())
		fmt.Fprintln(&b, strings.TrimRight(line, " "))
	}
	fmt.Fprintf(&b, "look at\n  %s   what the pretend machines drew\n", filepath.Join(d.dir, "drawn"))
	fmt.Fprintf(&b, "  %s   the refused draft, with its report and picture\n", filepath.Join(d.dir, d.room.Folders.Returned))
	fmt.Fprintf(&b, "  tracewheel jobs --config %s\n", d.room.File)
	_, err = d.out.Write(b.Bytes())
	return err
}

// Stop ends the daemon and the machines.
func (d *Demo) Stop() error {
	var err error
	if d.shop != nil {
		ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
		err = errors.Join(d.pages.Stop(ctx), d.shop.Stop(ctx))
		cancel()
	}
	for _, fn := range slices.Backward(d.undo) {
		fn()
	}
	return err
}
