package labreport

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"unicode/utf8"
)

var (
	wideGap  = regexp.MustCompile(` {2,}`)
	innerGap = regexp.MustCompile(`\S {2,}\S`)
)

// eachLine applies f to every line.
func eachLine(s string, f func(string) string) string {
	lines := strings.Split(s, "\n")
	for i := range lines {
		lines[i] = f(lines[i])
	}
	return strings.Join(lines, "\n")
}

// The ways in which programs spoil a report that is copied through them. A
// reading may lose results then, but it may not become wrong in silence; where
// nothing is lost, it may not even change.
func TestTransformed(t *testing.T) {
	for _, c := range []struct {
		name     string
		change   func(string) string
		lossless bool
	}{
		{"carriage returns", func(s string) string { return strings.ReplaceAll(s, "\n", "\r\n") }, true},
		{"non-breaking blanks", func(s string) string { return strings.ReplaceAll(s, " ", "\u00a0") }, true},
		{"quoted mail", func(s string) string { return eachLine(s, func(l string) string { return "> " + l }) }, true},
		{"every second line blank", func(s string) string { return strings.ReplaceAll(s, "\n", "\n\n") }, true},
		{"columns collapsed to single blanks", func(s string) string {
			return eachLine(s, func(l string) string { return wideGap.ReplaceAllString(strings.TrimSpace(l), " ") })
		}, false},
		{"columns between pipes", func(s string) string {
			return eachLine(s, func(l string) string {
				if !innerGap.MatchString(l) {
					return l
				}
				return "| " + wideGap.ReplaceAllString(strings.TrimSpace(l), " | ") + " |"
			})
		}, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			for _, from := range []string{"testdata/corpus", "testdata/variants"} {
				copyTransformed(t, dir, from, c.change)
			}
			got := scoreFolder(t, dir)
			if got.silent > 0 {
				t.Errorf("%d silent misreads", got.silent)
			}
			if c.lossless && (got.precision() < 0.995 || got.recall() < 0.99) {
				t.Errorf("precision %.4f, recall %.4f", got.precision(), got.recall())
			}
			if got.recall() < 0.9 {
				t.Errorf("recall %.4f", got.recall())
			}
		})
	}
}

// copyTransformed writes the text reports of a folder, changed, with their
// truth.
func copyTransformed(t *testing.T, dir, from string, change func(string) string) {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(from, "*", "report.txt"))
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		b, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		if !utf8.Valid(b) {
			continue
		}
		truth, err := os.ReadFile(filepath.Join(filepath.Dir(f), "truth.json"))
		if err != nil {
			t.Fatal(err)
		}
		to := filepath.Join(dir, filepath.Base(filepath.Dir(f)))
		if err := os.Mkdir(to, 0o755); err != nil {
			t.Fatal(err)
		}
		for name, content := range map[string][]byte{"report.txt": []byte(change(string(b))), "truth.json": truth} {
			if err := os.WriteFile(filepath.Join(to, name), content, 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
}
