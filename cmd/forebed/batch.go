package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"iter"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"
	"time"

	"github.com/schollz/progressbar/v3"
	"github.com/urfave/cli/v2"
	"golang.org/x/term"

	"forebed/cmd/forebed/internal/batch"
	"forebed/cmd/forebed/internal/render"
)

// errFailedLines ends a batch in which a line had no answer (exit code 3). The
// summary has said so already.
var errFailedLines = errors.New("lines of the batch were refused")

// shownFaults is how many refused lines the summary names; the output names all.
const shownFaults = 5

func batchCommand() *cli.Command {
	return &cli.Command{
		Name:      "batch",
		Usage:     "many reports: one line in, one line out",
		ArgsUsage: "[FILE...]",
		Description: "Reads one JSON object a line, from files or standard input, and writes one line for each, in order:\n" +
			"  {\"id\": \"W-12\", \"text\": \"Iron 0.3 mg/L ...\"}    a report as text\n" +
			"  {\"id\": \"W-12\", \"analysis\": {...}}             an analysis document; or the document alone\n" +
			"A line may carry corrections of its own: \"sample\", \"set\", \"basis\", \"drop\", \"pads\". With --split each\n" +
			"FILE is a report of any format and each of its samples one item.\n\n" +
			"A line that cannot be answered gives {\"id\", \"error\": {\"code\", \"message\", \"problems\"}} and the rest go on.\n" +
			"The exit code is then 3. Stop cautions stand ahead of the plan in every row, which then holds no sizes: they\n" +
			"are for forebed plan --acknowledge. In the csv format, a text that a spreadsheet would take for a formula\n" +
			"gets an apostrophe before it.\n\n" +
			"The output depends on the lines alone: not on --workers, nor on how the input was cut in pieces.",
		Flags: join(readingFlags(), stageFlags(), drawFlags(), []cli.Flag{rigFlag(), packFlag(),
			&cli.StringFlag{Name: "want", Value: batch.Wants()[0], Usage: "what to make of each report: plan, composition or reading as JSON; csv for one flat row; region for a table of what the wells of each file need", Action: oneOf("want", batch.Wants()...)},
			&cli.BoolFlag{Name: "split", Usage: "each FILE is a report (CSV, WQX, XLSX, PDF, text), each of its samples an item"},
			&cli.IntFlag{Name: "workers", Usage: "how many `N` reports to work on at a time; 0 for one a processor"},
			&cli.BoolFlag{Name: "no-header", Usage: "csv: leave the line of headings out, for the later pieces of a run that was cut"},
			&cli.BoolFlag{Name: "quiet", Aliases: []string{"q"}, Usage: "no progress bar and no summary"},
			&cli.BoolFlag{Name: "verbose", Aliases: []string{"v"}, Usage: "name every refused line on standard error, not the first few only"},
			&cli.BoolFlag{Name: "strict", Usage: "end with exit code 4 when no line was refused and a plan has a stop caution"},
			outFlag(),
		}),
		Action: runBatch,
	}
}

func runBatch(c *cli.Context) error {
	settings, err := batchSettings(c)
	if err != nil {
		return err
	}
	workers := c.Int("workers")
	if err := bounded("workers", workers, "min=0,max=1024", "0 to 1024", "leave it out for one a processor"); err != nil {
		return err
	}
	switch {
	case c.Bool("split") && !c.Args().Present():
		return usagef("no report given")("name the reports to split: forebed batch --split FILE.csv")
	case workers == 0:
		workers = runtime.GOMAXPROCS(0)
	}
	in, err := openBatch(c)
	if err != nil {
		return err
	}
	defer in.close()
	meter := newMeter(c, in.size)
	work := func(w io.Writer) error {
		out := bufio.NewWriter(w)
		region := batch.NewRegion(in.names)
		if settings.Want == batch.WantCSV && !c.Bool("no-header") {
			out.Write(batch.Headings())
		}
		err := batch.Run(c.Context, in.items, workers, settings.Answer, func(item batch.Item, a batch.Answer) error {
			meter.count(item, a)
			if settings.Want == batch.WantRegion {
				region.Add(a.Finding)
				return nil
			}
			out.Write(a.Line)
			return out.Flush()
		})
		if err == nil && settings.Want == batch.WantRegion {
			err = region.Write(out)
		}
		return errors.Join(err, out.Flush())
	}
	if name := c.String("output"); name != "" && name != "-" {
		err = writeWhole(name, work)
	} else {
		err = work(c.App.Writer)
	}
	meter.close()
	switch {
	case err != nil:
		return err
	case meter.internal > 0:
		return fmt.Errorf("forebed: %d internal failures; they stand in the output with the code internal\n  try: this is our fault, not your reports'; please send one of those lines and the report it came from", meter.internal)
	case meter.refused > 0:
		return errFailedLines
	case c.Bool("strict") && meter.stops > 0:
		return errStopCaution
	}
	return nil
}

func batchSettings(c *cli.Context) (*batch.Settings, error) {
	r, err := readingRequest(c)
	if err == nil {
		err = steer(c, &r)
	}
	return &batch.Settings{Want: batch.Want(c.String("want")), Request: r}, err
}

// batchInput is where the items come from.
type batchInput struct {
	items iter.Seq[batch.Item]
	names []string // of the files, for the table of a region
	size  int64    // bytes in all; -1 if unknown
	files []*os.File
}

func (in *batchInput) close() {
	for _, f := range in.files {
		f.Close()
	}
}

// openBatch opens every file before the first line is answered, so that a
// wrong name is found at once.
func openBatch(c *cli.Context) (*batchInput, error) {
	in := &batchInput{}
	names := c.Args().Slice()
	if len(names) == 0 {
		names = []string{"-"}
	}
	var readers []io.Reader
	var sizes []int64
	for _, name := range names {
		size := int64(-1)
		if name == "-" {
			readers, in.names = append(readers, c.App.Reader), append(in.names, "standard input")
		} else {
			f, err := os.Open(name)
			if err != nil {
				in.close()
				return nil, unreadable(name, err)
			}
			in.files = append(in.files, f)
			info, err := f.Stat()
			if err == nil && info.IsDir() { // which opens, and fails at the first read
				err = syscall.EISDIR
			}
			if err != nil {
				in.close()
				return nil, unreadable(name, err)
			}
			if info.Mode().IsRegular() {
				size = info.Size()
			}
			readers, in.names = append(readers, f), append(in.names, strings.TrimSuffix(filepath.Base(name), filepath.Ext(name)))
		}
		sizes = append(sizes, size)
		if in.size >= 0 {
			in.size += size
		}
		if size < 0 {
			in.size = -1
		}
	}
	in.items = func(yield func(batch.Item) bool) {
		var before int64
		for i, r := range readers {
			for item := range itemsOf(c, names[i], r) {
				item.Region, item.Done = i, item.Done+before
				if len(names) > 1 && !c.Bool("split") {
					item.Place = names[i] + ": " + item.Place
				}
				if !yield(item) {
					return
				}
			}
			before += max(sizes[i], 0)
		}
	}
	return in, nil
}

// itemsOf gives the items of one input.
func itemsOf(c *cli.Context, name string, r io.Reader) iter.Seq[batch.Item] {
	if !c.Bool("split") {
		return batch.Lines(r)
	}
	input, err := readAll(name, r)
	if err != nil {
		return func(yield func(batch.Item) bool) { yield(batch.Item{Place: name, Fault: err}) }
	}
	return batch.Samples(name, input)
}

// meter counts the answers and tells people about them on standard error: a
// bar on a terminal, and a summary.
type meter struct {
	w        io.Writer
	quiet    bool
	verbose  bool
	bar      *progressbar.ProgressBar
	started  time.Time
	answered int
	refused  int
	internal int
	stops    int
	codes    []string // of the refusals, in order of first appearance
	times    map[string]int
	faults   []string
}

func newMeter(c *cli.Context, size int64) *meter {
	m := &meter{w: c.App.ErrWriter, quiet: c.Bool("quiet"), verbose: c.Bool("verbose"), started: time.Now(), times: map[string]int{}}
	if f, ok := m.w.(*os.File); ok && !m.quiet && term.IsTerminal(int(f.Fd())) {
		m.bar = progressbar.NewOptions64(size, progressbar.OptionSetWriter(f), progressbar.OptionThrottle(100*time.Millisecond),
			progressbar.OptionSetPredictTime(true), progressbar.OptionClearOnFinish(), progressbar.OptionEnableColorCodes(false), progressbar.OptionSetWidth(24))
	}
	return m
}

func (m *meter) count(item batch.Item, a batch.Answer) {
	m.answered++
	if a.Stop {
		m.stops++
	}
	if a.Code != "" {
		if m.times[a.Code]++; m.times[a.Code] == 1 {
			m.codes = append(m.codes, a.Code)
		}
		m.refused++
		if a.Internal {
			m.internal++
		}
		if m.verbose || len(m.faults) < shownFaults {
			first, _, _ := strings.Cut(a.Message, "\n")
			m.faults = append(m.faults, item.Place+": "+first)
		}
	}
	if m.bar != nil {
		m.bar.Describe(fmt.Sprintf("%d reports, %d refused, %.0f a second", m.answered, m.refused, m.rate()))
		m.bar.Set64(item.Done) // an error is one of drawing; the summary comes all the same
	}
}

func (m *meter) rate() float64 {
	return float64(m.answered) / max(time.Since(m.started).Seconds(), 1e-3)
}

func (m *meter) close() {
	if m.bar != nil {
		m.bar.Finish()
	}
	if m.quiet {
		return
	}
	fmt.Fprintf(m.w, "forebed batch: %d reports, %d answered, %d refused, %d with a stop caution; %s a second\n", m.answered, m.answered-m.refused, m.refused, m.stops, render.Figures(m.rate(), 3))
	if m.refused == 0 {
		return
	}
	var counts []string
	for _, code := range m.codes {
		counts = append(counts, fmt.Sprintf("%d %s", m.times[code], code))
	}
	fmt.Fprintf(m.w, "refused: %s\n", strings.Join(counts, ", "))
	for _, f := range m.faults {
		fmt.Fprintf(m.w, "  %s\n", f)
	}
	if m.refused > len(m.faults) {
		fmt.Fprintf(m.w, "  ... and %d more; each stands in the output with its remedy\n", m.refused-len(m.faults))
	}
	if m.times["bad_line"] == m.answered {
		fmt.Fprintln(m.w, "  try: if the file is itself a report, add --split")
	}
}
