package batch

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"forebed/cmd/forebed/internal/engine"
	"forebed/rules"
)

const testdata = "../../../../testdata"

// settings plan with few draws: these tests are about the way, not the figures.
func settings(t testing.TB, want Want) *Settings {
	t.Helper()
	set, err := rules.Merge(rules.Builtin()...)
	if err != nil {
		t.Fatal(err)
	}
	return &Settings{Want: want, Request: engine.Request{Rig: rules.DefaultRig(), Rules: set, Draws: 50, Seed: 1}}
}

// lines makes an input of the sample reports with some hostile lines among them.
func lines(t testing.TB) []string {
	t.Helper()
	files, err := filepath.Glob(testdata + "/reports/*.*")
	if err != nil || len(files) < 6 {
		t.Fatalf("found %d sample reports: %v", len(files), err)
	}
	var all []string
	for _, f := range files {
		text, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		b, err := json.Marshal(map[string]string{"id": filepath.Base(f), "text": string(text)})
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, string(b))
	}
	return append(all, `not JSON`, `{"id": 7, "text": "Iron 0.3 mg/L"}`, `{"id": "h", "text": "Hardness 250 mg/L as CaCO3\r\nAlkalinity 200 mg/L as CaCO3\r\npH 7.2"}`)
}

func run(t testing.TB, s *Settings, input string, workers int) string {
	t.Helper()
	var out bytes.Buffer
	err := Run(context.Background(), Lines(strings.NewReader(input)), workers, s.Answer, func(_ Item, a Answer) error {
		_, err := out.Write(a.Line)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return out.String()
}

// TestCutAndWorkers: the same bytes whatever the number of workers, and
// however the input is cut.
func TestCutAndWorkers(t *testing.T) {
	all := lines(t)
	for _, want := range []Want{WantPlan, WantComposition, WantReading, WantCSV} {
		all := all
		if want == WantPlan || want == WantCSV {
			all = all[3:] // a plan costs more
		}
		s := settings(t, want)
		whole := run(t, s, strings.Join(all, "\n")+"\n", 1)
		if got := run(t, s, strings.Join(all, "\n"), 5); got != whole {
			t.Errorf("%s: five workers give other bytes than one", want)
		}
		var pieces string
		for piece := range slices.Chunk(all, 4) {
			pieces += run(t, s, strings.Join(piece, "\r\n"), 2)
		}
		if pieces != whole {
			t.Errorf("%s: pieces put together differ from one run", want)
		}
		if n := strings.Count(whole, "\n"); want != WantCSV && n != len(all) {
			t.Errorf("%s: %d lines for %d items", want, n, len(all))
		}
	}
}

// TestSameAsPlan: a row of the batch holds the plan that the engine makes.
func TestSameAsPlan(t *testing.T) {
	text, err := os.ReadFile(testdata + "/reports/orchard-soft-acid-well.txt")
	if err != nil {
		t.Fatal(err)
	}
	s := settings(t, WantPlan)
	r := s.Request
	r.Input, r.File = text, "orchard"
	alone, err := r.Plan(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	line, err := json.Marshal(map[string]string{"id": "orchard", "text": string(text)})
	if err != nil {
		t.Fatal(err)
	}
	var got struct {
		ID   string
		Plan json.RawMessage
	}
	if err := json.Unmarshal([]byte(run(t, s, string(line), 3)), &got); err != nil {
		t.Fatal(err)
	}
	var want bytes.Buffer
	e := json.NewEncoder(&want)
	e.SetEscapeHTML(false)
	if err := e.Encode(alone.Plan); err != nil {
		t.Fatal(err)
	}
	if got.ID != "orchard" || string(got.Plan) != strings.TrimSpace(want.String()) {
		t.Errorf("the row differs from the plan: %.200s", got.Plan)
	}
}

// TestStopStandsFirst: a stop caution stands ahead of the plan in a row, and
// ahead of the stages in the table.
func TestStopStandsFirst(t *testing.T) {
	line := `{"id":"s","text":"Hardness 250 mg/L as CaCO3\nAlkalinity 200 mg/L as CaCO3\npH 7.2\nArsenic 30 ug/L\nE. coli present"}`
	out := run(t, settings(t, WantPlan), line, 1)
	if i, j := strings.Index(out, `"stop":[`), strings.Index(out, `"plan":`); i < 0 || j < 0 || i > j {
		t.Errorf("stop at %d, plan at %d of %.300s", i, j, out)
	}
	out = string(Headings()) + run(t, settings(t, WantCSV), line, 1)
	rows, err := csv.NewReader(strings.NewReader(out)).ReadAll()
	if err != nil || len(rows) != 2 {
		t.Fatalf("%d rows: %v", len(rows), err)
	}
	stop, stages := slices.Index(rows[0], "stop"), slices.Index(rows[0], "stages")
	if stop < 0 || stop > stages || rows[1][stop] == "" || rows[1][stages] == "" {
		t.Errorf("stop in column %d, stages in %d: %q", stop, stages, rows[1])
	}
}

// TestFaults: each line that is no item gives one error with its code, its id
// where it could be read, and a remedy.
func TestFaults(t *testing.T) {
	long := `{"id":"long","text":"` + strings.Repeat("x", MaxLine) + `"}`
	for _, c := range []struct{ name, line, id, code, found string }{
		{"no JSON", `Iron 0.3 mg/L`, "null", "bad_line", "no JSON object"},
		{"a list", `[1, 2]`, "null", "bad_line", "no JSON object"},
		{"cut off", `{"id": "a", "text": "Iron`, "null", "bad_line", "broken JSON"},
		{"two objects", `{"id":1,"text":"a"} {"id":2}`, "null", "bad_line", "more text"},
		{"unknown field", `{"id":"a","text":"b","colour":1}`, `"a"`, "bad_line", "colour"},
		{"another letter case", `{"ID":"a","Text":"b"}`, "null", "bad_line", `the field "ID"`},
		{"text that is a number", `{"id":"a","text":7}`, `"a"`, "bad_line", `"text"`},
		{"text that is null", `{"id":"a","text":null}`, `"a"`, "bad_line", "neither"},
		{"duplicate field", `{"id":"a","id":"b","text":"c"}`, "null", "bad_line", "second time"},
		{"neither", `{"id":"a"}`, `"a"`, "bad_line", "neither"},
		{"both", `{"id":"a","text":"","analysis":{}}`, `"a"`, "bad_line", "both"},
		{"id of another kind", `{"id":{},"text":""}`, "null", "bad_line", "another kind"},
		{"not UTF-8", "{\"id\":\"a\",\"text\":\"\xff\"}", "null", "bad_line", "UTF-8"},
		{"too long", long, "null", "bad_line", fmt.Sprint(MaxLine, " bytes")},
		{"empty report", `{"id":"e","text":""}`, `"e"`, "no_results", ""},
		{"no water analysis", `{"id":"e","text":"Dear Sir,\nthe meeting is on Monday."}`, `"e"`, "no_results", "no result"},
		{"two wells", `{"id":"two","text":"Well,Calcium (mg/L),Magnesium (mg/L),Alkalinity (mg/L as CaCO3)\nA,80,20,200\nB,40,10,100"}`, `"two"`, "several_samples", "2 samples"},
		{"no anchor", `{"id":"i","text":"Iron 0.3 mg/L"}`, `"i"`, "no_water", "none of hardness"},
		{"correction", `{"id":"c","set":["iron=much"],"text":"Hardness 250 mg/L as CaCO3"}`, `"c"`, "correction", "much"},
		{"analysis of no version", `{"id":"v","analysis":{"samples":[]}}`, `"v"`, "", "version"},
		{"not a number", `{"id":"n","analysis":{"version":"forebed.analysis/1","samples":[{"results":[{"analyte":"iron","value":NaN}]}]}}`, "null", "bad_line", "broken JSON"},
		{"beyond numbers", `{"id":"n","analysis":{"version":"forebed.analysis/1","samples":[{"results":[{"analyte":"iron","value":1e999}]}]}}`, `"n"`, "", "1e999"},
		{"deep", `{"id":"d","analysis":` + strings.Repeat("[", 5000) + strings.Repeat("]", 5000) + `}`, `"d"`, "", ""},
		{"deeper", strings.Repeat(`{"id":`, 20000), "null", "bad_line", ""},
	} {
		out := run(t, settings(t, WantPlan), c.line+"\n"+`{"id":"after","text":""}`, 2)
		first, rest, _ := strings.Cut(out, "\n")
		var got struct {
			ID    json.RawMessage
			Error *failure
		}
		if err := json.Unmarshal([]byte(first), &got); err != nil || got.Error == nil {
			t.Errorf("%s: %v in %.300s", c.name, err, first)
			continue
		}
		if string(got.ID) != c.id || c.code != "" && got.Error.Code != c.code || !strings.Contains(got.Error.Message, c.found) || len(got.Error.Problems) == 0 || got.Error.Problems[0].Remedy == "" {
			t.Errorf("%s: %.400s", c.name, first)
		}
		if len(first) > 20000 {
			t.Errorf("%s: an error of %d bytes", c.name, len(first))
		}
		if !strings.Contains(rest, `"after"`) {
			t.Errorf("%s: the line after it was not answered", c.name)
		}
	}
}

// TestOwnCorrections: a line's own corrections come on top of those of all.
func TestOwnCorrections(t *testing.T) {
	s := settings(t, WantReading)
	s.Request.Edits.Drop = []string{"iron"}
	out := run(t, s, `{"id":1,"set":["manganese=0.2 mg/L"],"text":"Iron 1 mg/L\nHardness 250 mg/L as CaCO3"}`+"\n"+
		`{"id":2,"text":"Iron 1 mg/L\nHardness 250 mg/L as CaCO3"}`, 2)
	first, second, _ := strings.Cut(out, "\n")
	if strings.Contains(out, `"analyte":"iron"`) || !strings.Contains(first, `"manganese"`) || strings.Contains(second, `"manganese"`) {
		t.Errorf("got %s", out)
	}
}

// TestAnalysisDocuments: a reading goes in again, alone or in an envelope.
func TestAnalysisDocuments(t *testing.T) {
	s := settings(t, WantReading)
	var first struct{ Reading json.RawMessage }
	if err := json.Unmarshal([]byte(run(t, s, `{"id":1,"text":"Hardness 250 mg/L as CaCO3\npH 7.2"}`, 1)), &first); err != nil {
		t.Fatal(err)
	}
	again := run(t, s, string(first.Reading)+"\n"+`{"id":"e","analysis":`+string(first.Reading)+`}`, 2)
	for line := range strings.Lines(again) {
		var second struct{ Reading json.RawMessage }
		if err := json.Unmarshal([]byte(line), &second); err != nil || !bytes.Equal(first.Reading, second.Reading) {
			t.Errorf("%v: %s became %s", err, first.Reading, second.Reading)
		}
	}
}

// TestSplit: every sample of a table is one item under its own label, and
// answers as it would alone.
func TestSplit(t *testing.T) {
	input, err := os.ReadFile(testdata + "/wells/usgs_nawqa_valley_ridge_carbonate_wide.csv")
	if err != nil {
		t.Fatal(err)
	}
	items := slices.Collect(Samples("wells.csv", input))
	if len(items) != 20 {
		t.Fatalf("%d items, want the 20 samples of the table", len(items))
	}
	s := settings(t, WantComposition)
	for _, item := range items[:3] {
		r := s.Request
		r.Input, r.Edits.Sample = input, name(item.ID)
		alone, err := r.Composition()
		if err != nil {
			t.Fatal(err)
		}
		got := s.Answer(context.Background(), item)
		want, err := encode(alone.Water.CationLoad)
		if err != nil {
			t.Fatal(err)
		}
		if got.Code != "" {
			t.Errorf("%s: %s", item.Place, got.Message)
		}
		var load struct {
			Composition struct {
				Samples []struct {
					Load struct {
						Cation struct{ P50 float64 } `json:"cation_meq_per_l"`
					}
				}
			}
		}
		if err := json.Unmarshal(got.Line, &load); err != nil {
			t.Fatal(err)
		}
		if p50 := load.Composition.Samples[0].Load.Cation.P50; p50 < alone.Water.CationLoad.P50*0.999 || p50 > alone.Water.CationLoad.P50*1.001 {
			t.Errorf("%s: cation load %g, alone %s", item.Place, p50, want)
		}
	}
	// The imbalance of one well is that well's.
	for _, item := range items {
		for _, w := range item.Reading.Document.Warnings {
			if !strings.HasPrefix(w.Message, name(item.ID)+": ") {
				t.Errorf("%s carries the doubt %q", item.Place, w.Message)
			}
		}
	}
	if bad := slices.Collect(Samples("empty.csv", nil)); len(bad) != 1 || bad[0].Fault == nil {
		t.Errorf("an empty file gives %v", bad)
	}
}

// TestPanicIsAnswered: a panic in one item is one error line, and says so.
func TestPanicIsAnswered(t *testing.T) {
	s := settings(t, WantPlan)
	var none context.Context // which no caller passes
	a := s.Answer(none, parse([]byte(`{"id":"p","text":"Hardness 250 mg/L as CaCO3\npH 7.2\nAlkalinity 200 mg/L as CaCO3"}`)))
	if !a.Internal || a.Code != codeInternal || !strings.Contains(a.Message, "our fault") {
		t.Errorf("got %+v", a)
	}
}

// TestRunEnds: whatever ends a run, its goroutines end with it.
func TestRunEnds(t *testing.T) {
	before := runtime.NumGoroutine()
	many := strings.Repeat(`{"id":1,"text":""}`+"\n", 2000)
	answer := func(context.Context, Item) int { return 1 }
	broken := errors.New("broken pipe")
	for name, c := range map[string]struct {
		in      io.Reader
		deliver func(n int, cancel func()) error
		want    error
		atLeast int
	}{
		"all done": {strings.NewReader(many), func(int, func()) error { return nil }, nil, 2000},
		"the writer fails": {strings.NewReader(many), func(n int, _ func()) error {
			if n == 100 {
				return broken
			}
			return nil
		}, broken, 100},
		"interrupted": {strings.NewReader(many), func(n int, cancel func()) error {
			if n == 100 {
				cancel()
			}
			return nil
		}, context.Canceled, 100},
		"the reader fails": {io.MultiReader(strings.NewReader(many), iotest.ErrReader(broken)), func(int, func()) error { return nil }, nil, 2001},
	} {
		ctx, cancel := context.WithCancel(context.Background())
		n := 0
		err := Run(ctx, Lines(c.in), 3, answer, func(Item, int) error { n++; return c.deliver(n, cancel) })
		cancel()
		if !errors.Is(err, c.want) || n < c.atLeast {
			t.Errorf("%s: %v after %d answers", name, err, n)
		}
	}
	for deadline := time.Now().Add(5 * time.Second); runtime.NumGoroutine() > before && time.Now().Before(deadline); {
		runtime.Gosched()
	}
	if after := runtime.NumGoroutine(); after > before {
		t.Errorf("%d goroutines before, %d after", before, after)
	}
}

// TestBounded: the source is never far ahead of the output, so memory does
// not grow with the input.
func TestBounded(t *testing.T) {
	const workers = 3
	made, delivered, most := 0, 0, 0
	items := func(yield func(Item) bool) {
		for made < 5000 && yield(Item{}) {
			made++
		}
	}
	turn := make(chan struct{}, 1) // the counters are of one goroutine at a time
	turn <- struct{}{}
	counted := func(yield func(Item) bool) {
		for item := range items {
			<-turn
			most = max(most, made-delivered)
			turn <- struct{}{}
			if !yield(item) {
				return
			}
		}
	}
	err := Run(context.Background(), counted, workers, func(context.Context, Item) int { return 0 }, func(Item, int) error {
		<-turn
		delivered++
		turn <- struct{}{}
		return nil
	})
	if err != nil || delivered != 5000 || most > (ahead+2)*workers+2 {
		t.Errorf("%v; %d delivered, at most %d held", err, delivered, most)
	}
}

func TestInert(t *testing.T) {
	for in, want := range map[string]string{"": "", "W-1": "W-1", "-5.2": "-5.2", "=1+1": "'=1+1", "@x": "'@x", "-a": "'-a", "+1": "+1"} {
		if got := inert(in); got != want {
			t.Errorf("inert(%q) = %q, want %q", in, got, want)
		}
	}
}

// TestRegion: three samples of one well weigh as one sample of another.
// Computed by hand: two wells, of which one needs a softener in one of three
// samples: 1/3 of one well of two is 17 %.
func TestRegion(t *testing.T) {
	g := NewRegion([]string{"valley"})
	for i, ratio := range []float64{1, 1, 4} {
		f := Finding{well: "A", status: rules.StatusMeets, ratio: ratio, life: 100}
		if i == 2 {
			f.kinds = 1 << 6 // softener, by its place among the kinds
		}
		g.Add(f)
	}
	g.Add(Finding{well: "B", status: rules.StatusMeets, ratio: 9, life: 300})
	g.Add(Finding{Refused: true})
	var out bytes.Buffer
	if err := g.Write(&out); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"| 4 / 1 |", "| wells planned (number) | 2 |", "| softener | 17 |", "with the plan over untreated: P10 / P50 / P90 | 1 / 4 / 9 |", "at least twice as long with the plan | 67 |"} {
		if !strings.Contains(out.String(), want) {
			t.Errorf("no %q in\n%s", want, out.String())
		}
	}
}

// FuzzLines: any input gives items; none of them panics, and every line that is
// not blank gives exactly one.
func FuzzLines(f *testing.F) {
	for _, seed := range []string{"", "\n\n", "{}", `{"id":1,"text":"Iron 1 mg/L"}`, `{"version":"forebed.analysis/1","samples":[]}`, "\ufeff{\"id\":null}\r\n", `{"id":"a","analysis":[[[`} {
		f.Add([]byte(seed))
	}
	s := settings(f, WantReading)
	f.Fuzz(func(t *testing.T, input []byte) {
		want := 0
		for i, line := range bytes.Split(input, []byte("\n")) {
			if i == 0 {
				line = bytes.TrimPrefix(line, []byte("\ufeff"))
			}
			if len(bytes.TrimSpace(line)) > 0 {
				want++
			}
		}
		got := 0
		for item := range Lines(bytes.NewReader(input)) {
			got++
			a := s.Answer(context.Background(), item)
			if a.Internal {
				t.Fatalf("%s: %s", item.Place, a.Message)
			}
			if !json.Valid(a.Line) || bytes.Count(a.Line, []byte("\n")) != 1 {
				t.Fatalf("no line of JSON: %q", a.Line)
			}
		}
		if got != want {
			t.Fatalf("%d items of %d lines", got, want)
		}
	})
}

// BenchmarkBatch answers the sample reports, by what is wanted.
func BenchmarkBatch(b *testing.B) {
	input := strings.Join(lines(b), "\n")
	for _, want := range []Want{WantReading, WantComposition, WantPlan} {
		for _, workers := range []int{1, 2} {
			b.Run(fmt.Sprintf("%s/workers=%d", want, workers), func(b *testing.B) {
				s := settings(b, want)
				b.SetBytes(int64(len(input)))
				b.ReportAllocs()
				for b.Loop() {
					run(b, s, input, workers)
				}
			})
		}
	}
}
