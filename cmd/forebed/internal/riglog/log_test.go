package riglog

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"forebed/chem/unit"
	"forebed/schemas"
)

func day(t *testing.T, s string) Date {
	t.Helper()
	d, err := ParseDate(s)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func reading(t *testing.T, date string, gallons float64) Entry {
	t.Helper()
	return Entry{Date: day(t, date), Kind: Reading, Meter: &Count{Amount: gallons, Unit: Gallons}}
}

// newLog writes a log with these rows and returns its path.
func newLog(t *testing.T, rows ...string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "rig.csv")
	if err := os.WriteFile(path, []byte(header+strings.Join(rows, "")), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

func content(t *testing.T, path string) string {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

const refillRow = "2026-04-01,refill,100,gal,,,,,schedule,,,\n"

func TestHeaderNamesTheColumns(t *testing.T) {
	if got := strings.Join(columns, ",") + "\n"; got != header {
		t.Errorf("columns are %q, the header is %q", got, header)
	}
}

func TestRowRoundTrip(t *testing.T) {
	feed, product := 182.5, 0.0
	for _, e := range []Entry{
		{Date: day(t, "2026-04-03"), Kind: Reading, Meter: &Count{1234.5, Gallons, Event{}}, Feed: &feed, Product: &product},
		{Date: day(t, "2026-04-03T18:30"), Kind: Reading, Meter: &Count{12, Litres, Event{Rollover, 100000}}, Silica: &SilicaTest{0.5, true}},
		{Date: day(t, "2026-04-04"), Kind: Refill, Meter: &Count{0.25, Litres, Event{Kind: Zeroed}}, Reason: Spots, Note: `said "enough", twice`},
		{Date: day(t, "2026-04-05"), Kind: Stage, Stage: "softener", Task: "add salt, 40 lb"},
	} {
		if err := e.Check(); err != nil {
			t.Errorf("%s: %v", e.row(), err)
		}
		got, ps := parseRow("x", 7, strings.TrimSuffix(string(e.row()), "\n"))
		if len(ps) > 0 {
			t.Errorf("%s: %v", e.row(), ps)
		}
		if a, b := string(e.row()), string(got.row()); a != b || got.Line != 7 {
			t.Errorf("wrote %q, read %q on line %d", a, b, got.Line)
		}
	}
}

// Whatever part of a row is lost at its end, the rest is not taken for a row
// with other figures. (A row cut exactly between its last comma and its note
// is whole but for the note.)
func TestRowCutShort(t *testing.T) {
	feed := 180.0
	e := Entry{Date: day(t, "2026-04-03"), Kind: Reading, Meter: &Count{1234, Gallons, Event{}}, Feed: &feed, Silica: &SilicaTest{12, false}, Note: "windy, cold"}
	whole := string(e.row())
	for n := 1; n < len(whole)-1; n++ {
		if got, ps := parseRow("x", 2, whole[:n]); len(ps) == 0 && !slices.Equal(got.text()[:11], e.text()[:11]) {
			t.Errorf("%q was read as %q", whole[:n], got.row())
		}
	}
}

func TestDamagedRows(t *testing.T) {
	for _, c := range []struct{ name, row, says string }{
		{"date of a spreadsheet", "4/3/2026,reading,12,gal,,,,,,,,\n", "a.csv:3: date: found \"4/3/2026\""},
		{"no such day", "2026-02-30,reading,12,gal,,,,,,,,\n", "a.csv:3: date: "},
		{"number with separators", "2026-04-03,reading,\"1,234\",gal,,,,,,,,\n", "a.csv:3: meter: "},
		{"number with exponent", "2026-04-03,reading,1e3,gal,,,,,,,,\n", "a.csv:3: meter: "},
		{"negative", "2026-04-03,reading,200,gal,,-3,,,,,,\n", "a.csv:3: feed_ppm: found \"-3\""},
		{"no unit", "2026-04-03,reading,200,,,,,,,,,\n", "a.csv:3: meter_unit: "},
		{"no meter", "2026-04-03,reading,,,,,,,,,,\n", "a.csv:3: meter: found nothing"},
		{"unknown event", "2026-04-03,reading,200,gal,broken,,,,,,,\n", "a.csv:3: meter_event: "},
		{"rollover below the count", "2026-04-03,reading,200,gal,rollover 100,,,,,,,\n", "a.csv:3: meter_event: "},
		{"refill without reason", "2026-04-03,refill,200,gal,,,,,,,,\n", "a.csv:3: reason: found nothing"},
		{"reading with reason", "2026-04-03,reading,200,gal,,,,,spots,,,\n", "a.csv:3: reason: "},
		{"unknown stage", "2026-04-03,stage,,,,,,,,pump,oil it,\n", "a.csv:3: stage: "},
		{"silica in words", "2026-04-03,reading,200,gal,,,,low,,,,\n", "a.csv:3: silica_mg_per_l: "},
		{"too few columns", "2026-04-03,reading,200\n", "a.csv:3: found 3 columns"},
		{"open quote", "2026-04-03,reading,200,gal,,,,,,,,\"windy\n", "a.csv:3: found"},
		{"empty line", "\n", "a.csv:3: found an empty line"},
		{"meter backwards", "2026-04-03,reading,12,gal,,,,,,,,\n", "a.csv:3: found 2026-04-03: the meter shows 12, less than 100 before (line 2)"},
		{"other unit", "2026-04-03,reading,120,L,,,,,,,,\n", "a.csv:3: found 2026-04-03: the meter counts in L"},
		{"control character", "2026-04-03,reading,120,gal,,,,,,,,\"a\tb\"\n", "a.csv:3: note: "},
	} {
		t.Run(c.name, func(t *testing.T) {
			l, err := Parse("a.csv", []byte(header+refillRow+c.row))
			if l != nil || !errors.Is(err, ErrDamaged) || !strings.Contains(err.Error(), c.says) {
				t.Errorf("got %v, %v; want an error that says %s", l, err, c.says)
			}
		})
	}
	_, err := Parse("a.csv", []byte(header+"x\n"+refillRow+"y\n"))
	var ps schemas.Problems
	if !errors.As(err, &ps) || len(ps) != 2 || ps[0].Line != 2 || ps[1].Line != 4 {
		t.Errorf("two damaged rows gave %v", err)
	}
	for _, head := range []string{"", "date;entry\n", "date,entry\n"} {
		if _, err := Parse("a.csv", []byte(head)); err == nil || !strings.HasPrefix(err.Error(), "a.csv:1: ") {
			t.Errorf("header %q gave %v", head, err)
		}
	}
}

// A spreadsheet saves a byte order mark, carriage returns and quotes of its
// own; none of them changes what the log says.
func TestSavedBySpreadsheet(t *testing.T) {
	text := "\ufeff" + strings.ReplaceAll(header+refillRow+"\"2026-04-03\",reading,200,gal,,,,,,,,windy\n", "\n", "\r\n")
	l, err := Parse("a.csv", []byte(text))
	if err != nil || len(l.Entries) != 2 || l.Entries[1].Note != "windy" {
		t.Fatalf("got %+v, %v", l, err)
	}
	path := filepath.Join(t.TempDir(), "rig.csv")
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	if _, _, err := Correct(path, Correction{Line: 3, Set: map[string]string{"note": "calm"}}); err != nil {
		t.Fatal(err)
	}
	if got, want := content(t, path), strings.Replace(text, "\"2026-04-03\",reading,200,gal,,,,,,,,windy", "2026-04-03,reading,200,gal,,,,,,,,\"calm\"", 1); got != want {
		t.Errorf("got  %q\nwant %q", got, want)
	}
}

func TestMeter(t *testing.T) {
	for _, c := range []struct {
		name     string
		from, to Count
		want     unit.Litres
	}{
		{"gallons", Count{100, Gallons, Event{}}, Count{150, Gallons, Event{}}, unit.Gallons(50)},
		{"litres", Count{100, Litres, Event{}}, Count{150, Litres, Event{}}, 50},
		{"rollover", Count{99990, Gallons, Event{}}, Count{15, Gallons, Event{Rollover, 100000}}, unit.Gallons(25)},
		{"reset", Count{4200, Gallons, Event{}}, Count{15, Gallons, Event{Kind: Reset}}, unit.Gallons(15)},
		{"zeroed before", Count{4200, Gallons, Event{Kind: Zeroed}}, Count{15, Gallons, Event{}}, unit.Gallons(15)},
		{"replaced by a meter in litres", Count{4200, Gallons, Event{}}, Count{15, Litres, Event{Kind: Reset}}, 15},
		{"a second rollover", Count{3, Gallons, Event{Rollover, 1000}}, Count{2, Gallons, Event{Rollover, 1000}}, unit.Gallons(999)},
	} {
		got, err := step(&c.from, &c.to)
		if err != nil || math.Abs(float64(got-c.want)) > 1e-9 {
			t.Errorf("%s: got %v, %v; want %v", c.name, got, err, c.want)
		}
	}
}

func TestAsk(t *testing.T) {
	path := newLog(t, refillRow, "2026-04-03,reading,200,gal,,,,,,,,\n", "2026-04-10,reading,300,gal,,,,,,,,\"noted\"\n")
	before := content(t, path)
	for _, c := range []struct {
		name string
		e    Entry
		yes  Confirm
		says string
	}{
		{"earlier", reading(t, "2026-04-05", 250), Confirm{}, "--out-of-order"},
		{"the same again", reading(t, "2026-04-10", 300), Confirm{}, "--duplicate"},
		{"backwards", reading(t, "2026-04-11", 250), Confirm{}, "--rollover COUNT"},
		{"late, but not between its neighbours", reading(t, "2026-04-05", 350), Confirm{OutOfOrder: true}, "between its neighbours"},
	} {
		_, err := Append(path, c.e, c.yes)
		if !errors.Is(err, ErrAsk) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: got %v, want a question that says %s", c.name, err, c.says)
		}
	}
	if got := content(t, path); got != before {
		t.Fatalf("refused entries changed the file to %s", got)
	}
	for _, c := range []struct {
		e   Entry
		yes Confirm
	}{
		{reading(t, "2026-04-05", 250), Confirm{OutOfOrder: true}},
		{reading(t, "2026-04-10", 300), Confirm{Duplicate: true}},
		{Entry{Date: day(t, "2026-04-11"), Kind: Reading, Meter: &Count{5, Gallons, Event{Kind: Reset}}}, Confirm{}},
	} {
		if _, err := Append(path, c.e, c.yes); err != nil {
			t.Error(err)
		}
	}
	if got := content(t, path); !strings.HasPrefix(got, before) {
		t.Errorf("rows were changed: %s", got)
	}
	l, err := Read(path)
	if err != nil {
		t.Fatal(err)
	}
	points := l.Points()
	if got, want := points[len(points)-1].Used.Gallons(), 205.0; math.Abs(got-want) > 1e-9 {
		t.Errorf("used %v gal, want %v", got, want)
	}
	if l.Entries[3].Line != 5 || points[2].Line != 5 {
		t.Errorf("the late entry stands on line %d of the file and is number 3 by date with line %d", l.Entries[3].Line, points[2].Line)
	}
}

func TestFills(t *testing.T) {
	l, err := Parse("a", []byte(header+
		"2026-03-01,reading,20,gal,,,,,,,,\n"+refillRow+
		"2026-04-03,reading,200,gal,,180,1,,,,,\n"+
		"2026-04-10,refill,300,gal,zeroed,,9,,meter,,,\n"+
		"2026-04-12,reading,50,gal,,,0,,,,,\n"))
	if err != nil {
		t.Fatal(err)
	}
	fills := Fills(l.Points())
	if len(fills) != 2 || fills[0].End == nil || fills[0].End.Reason != Meter || fills[1].End != nil {
		t.Fatalf("got %+v", fills)
	}
	for i, want := range []float64{200, 50} {
		if got := unit.Litres(fills[i].Used).Gallons(); math.Abs(got-want) > 1e-9 {
			t.Errorf("fill %d used %v gal, want %v", i+1, got, want)
		}
	}
	if got := fills[0].Product(); len(got) != 2 || got[1] != 9 {
		t.Errorf("the pen of fill 1 is %v, want 1 and 9", got)
	}
}

func TestCorrect(t *testing.T) {
	rows := []string{refillRow, "2026-04-03,reading,200,gal,,,,,,,,\n", "2026-04-10,reading,30,gal,,,,,,,,\n", "torn"}
	path := newLog(t, rows...)
	before := content(t, path)
	if _, err := Read(path); err == nil {
		t.Fatal("the damage went unseen")
	}
	for _, c := range []Correction{{Line: 1, Delete: true}, {Line: 9, Delete: true}, {Line: 3, Set: map[string]string{"meter": "x"}}, {Line: 3, Set: map[string]string{"metre": "1"}}, {Line: 5, Set: map[string]string{"meter": "1"}}} {
		if _, _, err := Correct(path, c); err == nil {
			t.Errorf("%+v was accepted", c)
		}
	}
	if content(t, path) != before {
		t.Fatal("refused corrections changed the file")
	}
	if _, _, err := Correct(path, Correction{Line: 5, Row: "2026-04-12,reading,400,gal,,,,,,,,"}); err != nil {
		t.Fatal(err)
	}
	was, is, err := Correct(path, Correction{Line: 4, Set: map[string]string{"meter": "300"}})
	if err != nil || was+"\n" != rows[2] || is != "2026-04-10,reading,300,gal,,,,,,,," {
		t.Errorf("got %q -> %q, %v", was, is, err)
	}
	if got, want := content(t, path), header+rows[0]+rows[1]+is+"\n2026-04-12,reading,400,gal,,,,,,,,\n"; got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
	if _, _, err := Correct(path, Correction{Line: 3, Set: map[string]string{"meter": "350"}}); err == nil {
		t.Error("a correction that sets the meter back was accepted")
	}
	if _, err := Read(path); err != nil {
		t.Error(err)
	}
}

func TestImportAndExport(t *testing.T) {
	path := newLog(t, refillRow, "2026-04-03,reading,200,gal,,,,,,,,\n")
	in := "Meter,meter_unit,date,note\n200,gal,2026-04-03,\n250,gal,2026-04-05,\"a, b\"\n300,gal,2026-04-07,\n"
	before := content(t, path)
	if _, _, err := Import(path, "in.csv", []byte(in), Confirm{}, false, false); err == nil || !strings.Contains(err.Error(), "in.csv:2: ") {
		t.Errorf("a known row gave %v", err)
	}
	if _, _, err := Import(path, "in.csv", []byte("date,metre\n2026-04-08,1\n"), Confirm{}, false, false); err == nil || !strings.Contains(err.Error(), `"metre"`) {
		t.Errorf("an unknown column gave %v", err)
	}
	if content(t, path) != before {
		t.Fatal("a refused import changed the file")
	}
	taken, known, err := Import(path, "in.csv", []byte(in), Confirm{}, true, false)
	if err != nil || taken != 2 || known != 1 {
		t.Errorf("took %d, knew %d, %v", taken, known, err)
	}
	l, err := Read(path)
	if err != nil || len(l.Entries) != 4 {
		t.Fatalf("%v, %v", l, err)
	}
	var out bytes.Buffer
	if err := Export(&out, l.ByDate()); err != nil {
		t.Fatal(err)
	}
	copied := filepath.Join(t.TempDir(), "copy.csv")
	if _, _, err := Import(copied, "out.csv", out.Bytes(), Confirm{}, false, true); err != nil {
		t.Fatal(err)
	}
	again, err := Read(copied)
	if err != nil {
		t.Fatal(err)
	}
	for i := range l.Entries {
		if a, b := string(l.Entries[i].row()), string(again.Entries[i].row()); a != b {
			t.Errorf("exported and imported %q became %q", a, b)
		}
	}
}

func TestCreate(t *testing.T) {
	path := filepath.Join(t.TempDir(), "rig.csv")
	if _, err := Append(path, reading(t, "2026-04-03", 1), Confirm{}); err == nil || !strings.Contains(err.Error(), "--new") {
		t.Errorf("a missing log gave %v", err)
	}
	if err := Create(path, reading(t, "2026-04-03", 1)); err != nil {
		t.Fatal(err)
	}
	if err := Create(path, reading(t, "2026-04-03", 1)); err == nil {
		t.Error("a log was begun over another")
	}
	if err := os.WriteFile(path, []byte(strings.TrimSuffix(content(t, path), "\n")), 0o644); err != nil {
		t.Fatal(err)
	}
	e, err := Append(path, reading(t, "2026-04-04", 2), Confirm{})
	if err != nil || e.Line != 3 {
		t.Errorf("behind a last line without its end: line %d, %v", e.Line, err)
	}
	if l, err := Read(path); err != nil || len(l.Entries) != 2 {
		t.Errorf("got %v, %v", l, err)
	}
}

// Writers at the same time wait for each other: every entry is there, whole
// and once.
func TestWritersAtOnce(t *testing.T) {
	path := newLog(t, refillRow)
	const writers, each = 4, 20
	var wg sync.WaitGroup
	for w := range writers {
		wg.Go(func() {
			for i := range each {
				e := Entry{Date: Date{t: time.Date(2026, 5, 1, 0, 0, 0, 0, time.UTC)}, Kind: Stage, Stage: Vessel, Task: fmt.Sprintf("task %d of writer %d", i, w)}
				if _, err := Append(path, e, Confirm{}); err != nil {
					t.Error(err)
				}
			}
		})
	}
	wg.Wait()
	l, err := Read(path)
	if err != nil {
		t.Fatal(err)
	}
	seen := map[string]bool{}
	for _, e := range l.Entries[1:] {
		seen[e.Task] = true
	}
	if len(l.Entries) != 1+writers*each || len(seen) != writers*each {
		t.Errorf("%d entries, %d of them different, want %d", len(l.Entries)-1, len(seen), writers*each)
	}
}

func TestAddMonths(t *testing.T) {
	for _, c := range []struct {
		from   string
		months float64
		want   string
	}{
		{"2026-01-31", 1, "2026-02-28"}, {"2024-01-31", 1, "2024-02-29"}, {"2026-11-15", 3, "2027-02-15"},
		{"2026-04-03", 0.5, "2026-04-18"}, {"2026-04-03", 60, "2031-04-03"},
	} {
		if got := day(t, c.from).AddMonths(c.months).String(); got != c.want {
			t.Errorf("%s and %v months: %s, want %s", c.from, c.months, got, c.want)
		}
	}
}

func TestSparkline(t *testing.T) {
	if got, want := Sparkline([]float64{0, 1, 5, 10, 20}, 10), "▁▂▅██"; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"", header, header + refillRow, header + refillRow + "2026-04-03,reading,12,gal,rollover 1000,180,0,<0.5,,,,\"a\"\n", "\ufeff" + header, header + "2026-04-03,stage,,,,,,,,softener,\"salt\",\n", "date;entry\n"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		l, err := Parse("f.csv", data)
		if err != nil {
			if l != nil {
				t.Fatal("a log beside an error")
			}
			return
		}
		// What was read can be written and is then read as the same.
		out := []byte(header)
		for i := range l.Entries {
			out = append(out, l.Entries[i].row()...)
		}
		again, err := Parse("g.csv", out)
		if err != nil {
			t.Fatalf("%q was read, but written as %q it gives %v", data, out, err)
		}
		for i := range l.Entries {
			if !bytes.Equal(l.Entries[i].row(), again.Entries[i].row()) {
				t.Fatalf("%q became %q", l.Entries[i].row(), again.Entries[i].row())
			}
		}
		total := unit.Litres(0)
		for _, p := range l.Points() {
			if p.Total < total || p.Used < 0 {
				t.Fatalf("water ran backwards in %q", data)
			}
			total = p.Total
		}
	})
}
