package labreport

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// corpusText joins the text reports of the corpus until they reach n bytes.
func corpusText(b *testing.B, n int) []byte {
	b.Helper()
	files, err := filepath.Glob("testdata/corpus/*/report.txt")
	if err != nil || len(files) == 0 {
		b.Fatal("no corpus", err)
	}
	var buf bytes.Buffer
	for buf.Len() < n {
		for _, f := range files {
			if strings.Contains(f, "raw-pdf") || buf.Len() >= n {
				continue
			}
			t, err := os.ReadFile(f)
			if err != nil {
				b.Fatal(err)
			}
			buf.Write(t)
			buf.WriteByte('\n')
		}
	}
	return buf.Bytes()[:n]
}

// A paste of 1 MiB, made of the reports of the corpus.
func BenchmarkReadMebibyte(b *testing.B) {
	input := corpusText(b, 1<<20)
	b.SetBytes(int64(len(input)))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Read(input, Options{}); err != nil {
			b.Fatal(err)
		}
	}
}

// A report of about sixty rows.
func BenchmarkReadSixtyRows(b *testing.B) {
	input, err := os.ReadFile("testdata/corpus/004-mail-in-kit-long-list/report.txt")
	if err != nil {
		b.Fatal(err)
	}
	b.SetBytes(int64(len(input)))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Read(input, Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
