package labreport

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"forebed/chem/analysis"
	"forebed/chem/unit"
)

// FuzzRead reads free text. Nothing may be invented: every value as written
// stands at its line, every number derives from it by the rules of doc.go, and
// every limit stands on the row that it belongs to.
func FuzzRead(f *testing.F) {
	for _, dir := range []string{"testdata/corpus", "testdata/variants"} {
		files, err := filepath.Glob(filepath.Join(dir, "*", "report.txt"))
		if err != nil || len(files) == 0 {
			f.Fatalf("no reports in %s: %v", dir, err)
		}
		for _, name := range files {
			b, err := os.ReadFile(name)
			if err != nil {
				f.Fatal(err)
			}
			f.Add(string(b))
		}
	}
	f.Fuzz(func(t *testing.T, text string) {
		if len(text) > 1<<16 {
			return
		}
		rows := freeRows(strings.Split(strings.ToValidUTF8(text, "\uFFFD"), "\n"))
		within(t, func() {
			rd, err := interpret(source{format: "text", rows: rows}, Options{})
			refusalOrNil(t, err)
			if err == nil {
				derived(t, rows, rd.Document)
				accounted(t, rows, rd.Lines)
			}
		})
	})
}

// rowSpan is how many lines one row of a report may take when its cells stand
// below each other.
const rowSpan = 10

// derived checks every result against the text it cites.
func derived(t *testing.T, rows []row, doc analysis.Document) {
	t.Helper()
	for _, s := range doc.Samples {
		for _, r := range s.Results {
			if r.Line < 1 || r.Line > len(rows) {
				t.Fatalf("%s cites line %d of %d", r.Analyte, r.Line, len(rows))
			}
			near := window(rows, r.Line-1, r.Line+2)
			if !strings.Contains(dense(near), dense(r.AsWritten)) {
				t.Errorf("%s: %q does not stand on line %d: %q", r.Analyte, r.AsWritten, r.Line, near)
			}
			if r.Unit != unit.Presence {
				for _, v := range []*float64{r.Value} {
					if v != nil && !amongNumbers(r.AsWritten, *v) && !standsIn(r.AsWritten, *v) {
						t.Errorf("%s: %v does not derive from %q", r.Analyte, *v, r.AsWritten)
					}
				}
			}
			for _, v := range []*float64{r.Low, r.High, r.Limit} {
				if near := window(rows, r.Line-rowSpan, r.Line+rowSpan); v != nil && !amongNumbers(near, *v) && !standsIn(near, *v) {
					t.Errorf("%s: %v stands nowhere near line %d", r.Analyte, *v, r.Line)
				}
			}
		}
	}
}

// dense drops blanks: a value may go over the end of a line.
func dense(s string) string { return strings.Join(strings.Fields(s), "") }

// window joins the lines from a to b, counted from 1.
func window(rows []row, a, b int) string {
	var s []string
	for k := max(a, 1); k <= min(b, len(rows)); k++ {
		s = append(s, rows[k-1].text)
	}
	return strings.Join(s, " ")
}

// amongNumbers tells whether a number of the text reads as v in one of the
// styles of numbers.
func amongNumbers(text string, v float64) bool {
	// A name stands before it in the report, and a unit perhaps behind it, which
	// tells that "0. 41" is a number pulled apart.
	toks := append(lex(row{text: "= " + text}).toks, lex(row{text: "= " + text + " mg/L"}).toks...)
	for _, tok := range toks {
		if tok.kind != tokNumber {
			continue
		}
		for _, s := range []style{{}, {points: 9}, {commas: 9}} {
			a, b, d := tok.num.value(s)
			for _, x := range []float64{a, b} {
				if d&doubtGroup == 0 && x == b && b != a {
					continue
				}
				if math.Abs(math.Abs(x)-math.Abs(v)) <= 1e-12*math.Abs(v) {
					return true
				}
			}
		}
	}
	return false
}

// accounted checks that every line that is not blank has one fate, in order.
func accounted(t *testing.T, rows []row, fates []Fate) {
	t.Helper()
	last := 0
	for _, f := range fates {
		if f.Line <= last {
			t.Fatalf("the fate of line %d stands behind that of line %d", f.Line, last)
		}
		last = f.Line
		if f.What == Ignored && f.Why == "" {
			t.Errorf("line %d is ignored without a reason", f.Line)
		}
	}
	at := map[int]bool{}
	for _, f := range fates {
		at[f.Line] = true
	}
	for _, r := range rows {
		if !at[r.line] && len(lex(r).toks) > 0 {
			t.Errorf("line %d has no fate: %q", r.line, r.text)
		}
	}
}
