package labreport

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"forebed/chem/analyte"
)

// wellFiles are the open data files of testdata/wells and, if the environment
// names a folder of more of them (FOREBED_DATA), those too.
func wellFiles(t testing.TB) []string {
	files, err := filepath.Glob("../../testdata/wells/*.csv")
	if err != nil || len(files) != 4 {
		t.Fatalf("open data: %d files, %v", len(files), err)
	}
	if dir := os.Getenv("FOREBED_DATA"); dir != "" {
		more, err := filepath.Glob(filepath.Join(dir, "*.csv"))
		if err != nil || len(more) == 0 {
			t.Fatalf("no data in %s", dir)
		}
		files = append(files, more...)
	}
	return files
}

// TestEveryRowAccountedFor: rows in = rows used + rows explained, on real
// files. Source: testdata/wells/README.md.
func TestEveryRowAccountedFor(t *testing.T) {
	for _, file := range wellFiles(t) {
		t.Run(filepath.Base(file), func(t *testing.T) {
			b, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			records, err := csv.NewReader(strings.NewReader(string(b))).ReadAll()
			if err != nil {
				t.Fatal(err)
			}
			r, err := Read(b, Options{File: file})
			if err != nil {
				t.Fatal(err)
			}
			used, explained := 0, 0
			at := map[int]int{}
			for i, f := range r.Lines {
				if i > 0 && f.Line <= r.Lines[i-1].Line {
					t.Fatalf("line %d stands behind line %d", f.Line, r.Lines[i-1].Line)
				}
				switch {
				case f.What == HasResult:
					used++
				case f.Why != "":
					explained++
				default:
					t.Errorf("line %d: neither used nor explained", f.Line)
				}
				at[f.Line]++
			}
			if used+explained != len(records) {
				t.Errorf("%d rows in, %d used and %d explained", len(records), used, explained)
			}
			onLine := map[int]int{}
			results := 0
			lines := strings.Split(string(b), "\n")
			for _, s := range r.Document.Samples {
				for _, res := range s.Results {
					results++
					onLine[res.Line]++
					if !strings.Contains(lines[res.Line-1], res.AsWritten) {
						t.Errorf("line %d does not hold %q", res.Line, res.AsWritten)
					}
				}
			}
			for _, f := range r.Lines {
				if (f.What == HasResult) != (onLine[f.Line] > 0) {
					t.Errorf("line %d: fate %d, %d results", f.Line, f.What, onLine[f.Line])
				}
			}
			t.Logf("%s: %d rows = %d used + %d explained; %d samples, %d results", r.Format, len(records), used, explained, len(r.Document.Samples), results)
		})
	}
}

// TestExchangeCounts holds the reading of the WQX file against counts made
// from the file itself with another CSV reader (Python's).
func TestExchangeCounts(t *testing.T) {
	b, err := os.ReadFile("../../testdata/wells/usgs_wqx3_colorado_plateau_narrow.csv")
	if err != nil {
		t.Fatal(err)
	}
	r, err := Read(b, Options{})
	if err != nil {
		t.Fatal(err)
	}
	type key struct {
		id    analyte.ID
		basis analyte.Basis
	}
	counts := map[key]int{}
	nondetects, limits := 0, 0
	for _, s := range r.Document.Samples {
		for _, res := range s.Results {
			counts[key{res.Analyte, res.Basis}]++
			if res.Nondetect {
				nondetects++
				if res.Limit != nil {
					limits++
				}
			}
		}
	}
	for k, want := range map[key]int{
		{"calcium", ""}: 42, {"chloride", ""}: 43, {"hardness", "CaCO3"}: 43, {"conductivity", ""}: 47,
		{"nitrate", "N"}: 27, {"nitrate", "NO3"}: 28, {"tds", ""}: 61, {"silica", "SiO2"}: 36, {"iron", ""}: 25,
	} {
		if counts[k] != want {
			t.Errorf("%v: %d results, want %d", k, counts[k], want)
		}
	}
	// 55 rows say "Not Detected", all with a limit; 6 of them are of substances
	// outside the table (fecal coliform, thulium, tellurium, europium, titanium).
	if nondetects != 49 || limits != 49 {
		t.Errorf("%d non-detects, %d with a limit; want 49 of each", nondetects, limits)
	}
}
