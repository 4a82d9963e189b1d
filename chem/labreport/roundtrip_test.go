package labreport

import (
	"bytes"
	"os"
	"path/filepath"
	"reflect"
	"testing"
)

// TestCorpusReadBack: every reading of the corpora, written as JSON and as CSV,
// is read back to the same analysis, doubts included.
func TestCorpusReadBack(t *testing.T) {
	readings := 0
	for _, pattern := range []string{"testdata/corpus/*/truth.json", "testdata/formats/*/truth.json"} {
		files, err := filepath.Glob(pattern)
		if err != nil || len(files) == 0 {
			t.Fatalf("%s: %d files, %v", pattern, len(files), err)
		}
		for _, f := range files {
			r, err := Read(reportIn(t, filepath.Dir(f)), Options{File: f})
			if err != nil {
				continue // refused, as TestCorpus and TestFormats want it
			}
			readings++
			for name, write := range map[string]func(*bytes.Buffer) error{
				"json": func(b *bytes.Buffer) error { return WriteJSON(b, r.Document) },
				"csv":  func(b *bytes.Buffer) error { return WriteCSV(b, r.Document) },
			} {
				var b bytes.Buffer
				if err := write(&b); err != nil {
					t.Fatal(err)
				}
				back, err := Read(b.Bytes(), Options{File: name})
				if err != nil {
					t.Errorf("%s as %s: %v", f, name, err)
					continue
				}
				if !reflect.DeepEqual(plainLists(back.Document), plainLists(r.Document)) {
					t.Errorf("%s as %s: read back\n%#v\nwant\n%#v", f, name, back.Document, r.Document)
				}
			}
		}
	}
	if readings < 70 {
		t.Errorf("only %d reports were read", readings)
	}
}

// TestRepositoryReports: the invented and open example reports at the top of
// the repository are read.
func TestRepositoryReports(t *testing.T) {
	files, err := filepath.Glob("../../testdata/reports/*.*")
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		if filepath.Base(f) == "README.md" {
			continue
		}
		b, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		if r, err := Read(b, Options{File: f}); err != nil || len(r.Document.Samples) == 0 {
			t.Errorf("%s: %v", f, err)
		}
	}
}
