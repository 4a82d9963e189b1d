package main

import (
	"archive/zip"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/urfave/cli/v2"

	"forebed/chem/labreport"
)

// quickly runs the command and demands that it ends within a minute, which is
// far beyond what any refusal takes and far below what a bomb would.
func quickly(t *testing.T, stdin io.Reader, args ...string) (code int, stdout, stderr string) {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	var out, errs bytes.Buffer
	done := make(chan int, 1)
	go func() { done <- run(ctx, append([]string{"forebed"}, args...), stdin, &out, &errs) }()
	select {
	case code = <-done:
	case <-ctx.Done():
		t.Fatalf("forebed %s does not end", strings.Join(args, " "))
	}
	return code, out.String(), errs.String()
}

// TestHostileFiles: files made to exhaust a reader end in a refusal that names
// the bound, and leave standard output empty.
func TestHostileFiles(t *testing.T) {
	for _, c := range []struct {
		name, stderr string
		content      []byte
	}{
		{"bomb.xlsx", "expected at most", zipBomb(t)},
		{"nested.pdf", "", loopingPDF()},
		{"empty.pdf", "", []byte("%PDF-1.5\n")},
		{"torn.xlsx", "", zipBomb(t)[:400]},
		{"long.csv", "expected at most 65536", []byte("Iron," + strings.Repeat("9", labreport.MaxLineLength) + "\n")},
		{"lines.txt", "expected at most 200000 lines", bytes.Repeat([]byte("x\n"), labreport.MaxLines+1)},
	} {
		name := filepath.Join(t.TempDir(), c.name)
		if err := os.WriteFile(name, c.content, 0o600); err != nil {
			t.Fatal(err)
		}
		for _, command := range []string{"read", "plan"} {
			code, stdout, stderr := quickly(t, nil, command, name)
			if code != exitRefused || stdout != "" || !strings.HasPrefix(stderr, name+":") || !strings.Contains(stderr, "try: ") || !strings.Contains(stderr, c.stderr) {
				t.Errorf("%s %s: exit code %d, %d bytes on standard output, %.300s", command, c.name, code, len(stdout), stderr)
			}
		}
	}
}

// zipBomb is a workbook that unpacks to much more than it is.
func zipBomb(t *testing.T) []byte {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for name, text := range map[string]string{
		"[Content_Types].xml":        `<Types/>`,
		"xl/workbook.xml":            `<workbook><sheets><sheet name="A" sheetId="1"/></sheets></workbook>`,
		"xl/worksheets/sheet1.xml":   "<worksheet>" + strings.Repeat(" ", 64<<20) + "</worksheet>",
		"xl/_rels/workbook.xml.rels": `<Relationships/>`,
	} {
		w, err := z.Create(name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := io.WriteString(w, text); err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// loopingPDF is a PDF whose pages are their own parents and whose drawing
// draws itself.
func loopingPDF() []byte {
	var b bytes.Buffer
	b.WriteString("%PDF-1.4\n")
	objects := []string{
		"<< /Type /Catalog /Pages 2 0 R >>",
		"<< /Type /Pages /Count 2 /Kids [2 0 R 3 0 R] /Parent 2 0 R >>",
		"<< /Type /Page /Parent 2 0 R /Resources << /XObject << /X 4 0 R >> >> /Contents 5 0 R >>",
		"<< /Type /XObject /Subtype /Form /Resources << /XObject << /X 4 0 R >> >> /Length 11 >>\nstream\n/X Do /X Do\nendstream",
		"<< /Length 5 0 R >>\nstream\n/X Do\nendstream",
	}
	var offsets []int
	for i, o := range objects {
		offsets = append(offsets, b.Len())
		fmt.Fprintf(&b, "%d 0 obj\n%s\nendobj\n", i+1, o)
	}
	at := b.Len()
	fmt.Fprintf(&b, "xref\n0 %d\n0000000000 65535 f \n", len(objects)+1)
	for _, o := range offsets {
		fmt.Fprintf(&b, "%010d 00000 n \n", o)
	}
	fmt.Fprintf(&b, "trailer\n<< /Size %d /Root 1 0 R /Prev %d >>\nstartxref\n%d\n%%%%EOF\n", len(objects)+1, at, at)
	return b.Bytes()
}

// TestPanicIsCaught: a panic anywhere ends as an internal failure that says
// whose fault it is and what to send, with nothing half-done on standard output.
func TestPanicIsCaught(t *testing.T) {
	var stdout, stderr bytes.Buffer
	app := newApp(nil, &stdout, &stderr)
	app.Commands = []*cli.Command{{Name: "fail", Action: func(*cli.Context) error { panic("the resin is gone") }}}
	code := finish(func() error { return app.Run([]string{"forebed", "fail"}) }, &stderr)
	if code != exitInternal || stdout.Len() > 0 || !strings.Contains(stderr.String(), "the resin is gone") || !strings.Contains(stderr.String(), "our fault") || !strings.Contains(stderr.String(), "please send") {
		t.Errorf("exit code %d, %s", code, stderr.String())
	}
}

// TestBrokenOff: Ctrl-C ends a batch with whole lines, its own exit code, and
// nothing under the name of the output file.
func TestBrokenOff(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	in, feed := io.Pipe()
	var stdout, stderr bytes.Buffer
	done := make(chan int)
	go func() {
		done <- run(ctx, []string{"forebed", "batch", "--want", "reading"}, in, &stdout, &stderr)
	}()
	for range 50 { // more than the workers hold, so that some lines are out
		if _, err := io.WriteString(feed, `{"id":1,"text":"Hardness 250 mg/L as CaCO3"}`+"\n"); err != nil {
			t.Fatal(err)
		}
	}
	cancel()
	if code := <-done; code != exitBroken || !strings.Contains(stderr.String(), "broken off") {
		t.Errorf("exit code %d, %s", code, stderr.String())
	}
	feed.Close()
	if out := stdout.String(); out != "" && !strings.HasSuffix(out, "\n") {
		t.Errorf("half a line: %.100q", out[max(0, len(out)-100):])
	}
}

// TestNothingLeaks: commands that end well or badly leave no goroutine and no
// file behind.
func TestNothingLeaks(t *testing.T) {
	report := filepath.Join(root, "testdata/reports/window-round-town-supply.csv")
	lines := strings.Repeat(`{"id":1,"text":"Hardness 250 mg/L as CaCO3"}`+"\n", 20)
	round := func() {
		quickly(t, nil, "read", report)
		quickly(t, nil, "water", "--draws", "50", report)
		quickly(t, nil, "plan", "--draws", "50", report)
		quickly(t, nil, "read", filepath.Join(root, "testdata/reports/README.md"))
		quickly(t, nil, "batch", "--want", "reading", report, "absent.ndjson")
		quickly(t, strings.NewReader(lines), "batch", "--want", "reading")
		quickly(t, nil, "batch", "--split", "--want", "reading", filepath.Join(root, "testdata/wells/nl_dune_polder_profile_wide.csv"))
		quickly(t, brokenReader{}, "batch", "--want", "reading")
	}
	round() // what is kept for the life of the process is there now
	goroutines, files := runtime.NumGoroutine(), openFiles(t)
	for range 3 {
		round()
	}
	for deadline := time.Now().Add(5 * time.Second); runtime.NumGoroutine() > goroutines && time.Now().Before(deadline); {
		runtime.Gosched()
	}
	if n := runtime.NumGoroutine(); n > goroutines {
		t.Errorf("%d goroutines, then %d", goroutines, n)
	}
	if n := openFiles(t); n > files {
		t.Errorf("%d open files, then %d", files, n)
	}
}

// brokenReader is an input that fails.
type brokenReader struct{}

func (brokenReader) Read([]byte) (int, error) { return 0, errors.New("the line is down") }

// openFiles counts the open files of this process, where the system tells;
// elsewhere the goroutines alone are compared.
func openFiles(t *testing.T) int {
	t.Helper()
	entries, err := os.ReadDir("/proc/self/fd")
	if err != nil {
		t.Logf("open files are not counted on %s", runtime.GOOS)
		return 0
	}
	return len(entries)
}
