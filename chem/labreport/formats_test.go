package labreport

import (
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// TestFormats reads every report of testdata/formats and holds it against its
// truth, by the rules of the corpus: everything due is found and right, nothing
// else is reported, and every due warning is given. A new case is a new folder.
func TestFormats(t *testing.T) {
	folders, err := filepath.Glob("testdata/formats/*/truth.json")
	if err != nil || len(folders) < 15 {
		t.Fatalf("%d reports, %v", len(folders), err)
	}
	for _, file := range folders {
		folder := filepath.Dir(file)
		t.Run(filepath.Base(folder), func(t *testing.T) {
			b, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			var want truth
			if err := json.Unmarshal(b, &want); err != nil {
				t.Fatal(err)
			}
			score := tally{kinds: map[string]int{}}
			var log []string
			r, err := Read(reportIn(t, folder), Options{File: folder})
			var refusal *Refusal
			if errors.As(err, &refusal) {
				log = score.score(want, nil, true, refusal.Warnings)
			} else {
				log = score.score(want, &r.Document, false, r.Document.Warnings)
				for i, s := range want.Samples {
					if s.Label != nil && (i >= len(r.Document.Samples) || r.Document.Samples[i].Label != *s.Label) {
						t.Errorf("sample %d is not called %q", i+1, *s.Label)
					}
				}
			}
			if score.correct != score.required || score.reported != score.correct || score.warnGiven != score.warnDue || score.refusalsMissed+score.refusalsWrong > 0 {
				t.Errorf("%d due, %d reported, %d right\n%s", score.required, score.reported, score.correct, strings.Join(log, "\n"))
			}
		})
	}
}

// reportIn returns the report of a folder; the sources of binary files are
// made into such files.
func reportIn(t *testing.T, folder string) []byte {
	files, err := filepath.Glob(filepath.Join(folder, "report.*"))
	if err != nil || len(files) != 1 {
		t.Fatalf("%v, %v", files, err)
	}
	b, err := os.ReadFile(files[0])
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(strings.TrimSuffix(string(b), "\n"), "\n")
	switch filepath.Ext(files[0]) {
	case ".sheet":
		return workbookOf(lines)
	case ".page":
		return portable(pdfStyle{flate: true, packs: true}, pagesOf(t, lines)...)
	}
	return b
}

// workbookOf makes a workbook of a sheet source.
func workbookOf(lines []string) []byte {
	sheets := map[string][][]string{}
	var names []string
	for _, l := range lines {
		name, isSheet := strings.CutPrefix(l, "@sheet ")
		if isSheet || len(names) == 0 {
			if !isSheet {
				name = "Sheet1"
			}
			names = append(names, name)
		}
		if !isSheet {
			last := names[len(names)-1]
			sheets[last] = append(sheets[last], strings.Split(l, "\t"))
		}
	}
	return workbook(sheets, names...)
}

// pagesOf places the texts of a page source.
func pagesOf(t *testing.T, lines []string) [][]placed {
	pages := [][]placed{nil}
	var x, y float64
	var widths []float64
	for _, l := range lines {
		page := &pages[len(pages)-1]
		if l == "@page" {
			pages = append(pages, nil)
			continue
		}
		if place, rest, ok := strings.Cut(l, " "); ok && strings.HasPrefix(l, "@") {
			if _, err := fmt.Sscanf(place, "@%g,%g", &x, &y); err != nil {
				t.Fatalf("%q: %v", l, err)
			}
			columns, isTable := strings.CutPrefix(rest, "columns ")
			if !isTable {
				*page = append(*page, placed{x, y, rest})
				continue
			}
			widths = nil
			for _, w := range strings.Fields(columns) {
				v, err := strconv.ParseFloat(w, 64)
				if err != nil {
					t.Fatalf("%q: %v", l, err)
				}
				widths = append(widths, v)
			}
			continue
		}
		*page = append(*page, tableAt(x, y, widths, strings.Split(l, "|"))...)
		y -= 16
	}
	return pages
}
