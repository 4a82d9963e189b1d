package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// forebed runs the program within the test.
func forebed(t *testing.T, args ...string) (code int, stdout, stderr string) {
	t.Helper()
	var out, errs bytes.Buffer
	code = run(context.Background(), append([]string{"forebed"}, args...), strings.NewReader(""), &out, &errs)
	return code, out.String(), errs.String()
}

// TestLogCommands keeps the log of an invented boat rig through a season, on
// the plan of an invented report.
func TestLogCommands(t *testing.T) {
	dir := t.TempDir()
	rig, plan := filepath.Join(dir, "rig.csv"), filepath.Join(dir, "plan.json")
	if code, _, stderr := forebed(t, "plan", "--format", "json", "--output", plan, filepath.Join(root, "testdata/reports/boatyard-hard-iron-well.txt")); code != exitDone {
		t.Fatal(stderr)
	}
	before := func() string {
		b, _ := os.ReadFile(rig) // absent at first
		return string(b)
	}
	for _, c := range []struct {
		name string
		args []string
		code int
		out  string // standard output holds it
		err  string // standard error holds it
	}{
		{"no log yet", []string{"add", "--meter", "0", "--meter-unit", "gal", rig}, exitRefused, "", "--new"},
		{"no reason", []string{"refill", "--new", "--meter", "0", "--meter-unit", "gal", rig}, exitUsage, "", "reason"},
		{"no unit", []string{"refill", "--new", "--date", "2026-04-01", "--meter", "0", "--reason", "schedule", rig}, exitUsage, "", "--meter-unit gal"},
		{"a wrong reason", []string{"refill", "--new", "--date", "2026-04-01", "--meter", "0", "--meter-unit", "gal", "--reason", "bored", rig}, exitUsage, "", "spots, meter, silica, schedule"},
		{"begin", []string{"refill", "--new", "--date", "2026-04-01", "--meter", "0", "--meter-unit", "gal", "--reason", "schedule", rig}, exitDone, "rig.csv:2: refill of 2026-04-01 written", ""},
		{"begin again", []string{"refill", "--new", "--date", "2026-04-01", "--meter", "0", "--meter-unit", "gal", "--reason", "schedule", rig}, exitRefused, "", "leave --new out"},
		{"add", []string{"add", "--date", "2026-05-01", "--meter", "120", "--feed", "610", "--product", "0", "--silica", "<0.5", "--note", "windy, cold", rig}, exitDone, "rig.csv:3:", ""},
		{"the same", []string{"add", "--date", "2026-05-01", "--meter", "120", "--feed", "610", "--product", "0", "--silica", "<0.5", rig}, exitRefused, "", "--duplicate"},
		{"earlier", []string{"add", "--date", "2026-04-15", "--meter", "60", rig}, exitRefused, "", "--out-of-order"},
		{"earlier, confirmed", []string{"add", "--date", "2026-04-15", "--meter", "60", "--product", "0", "--out-of-order", rig}, exitDone, "rig.csv:4:", ""},
		{"backwards", []string{"add", "--date", "2026-05-10", "--meter", "20", rig}, exitRefused, "", "--rollover COUNT"},
		{"two events", []string{"add", "--date", "2026-05-10", "--meter", "20", "--reset", "--zeroed", rig}, exitUsage, "", "2 events"},
		{"rollover", []string{"add", "--date", "2026-05-10", "--meter", "20", "--rollover", "130", "--product", "1", rig}, exitDone, "rig.csv:5:", ""},
		{"a slip", []string{"add", "--date", "2026-05-20", "--meter", "70", "--product", "10", rig}, exitDone, "rig.csv:6:", ""},
		{"correct it", []string{"correct", "--line", "6", "--set", "product_ppm=1", "--set", "note=misread, corrected", rig}, exitDone, `is  2026-05-20,reading,70,gal,,,1,,,,,"misread, corrected"`, ""},
		{"correct nothing", []string{"correct", "--line", "6", rig}, exitUsage, "", "--set, --row and --delete"},
		{"no such line", []string{"correct", "--line", "60", "--delete", rig}, exitRefused, "", "2 to 6"},
		{"a task", []string{"stage", "--date", "2026-05-21", "--stage", "sediment_filter", "--task", "change the sediment cartridge", rig}, exitDone, "rig.csv:7:", ""},
		{"no stage", []string{"stage", "--date", "2026-05-22", "--stage", "pump", "--task", "oil", rig}, exitUsage, "", "sediment_filter"},
		{"show", []string{"show", "--units", "us", rig}, exitDone, "200 gal", ""},
		{"export", []string{"export", rig}, exitDone, "2026-04-15,reading,60,gal", ""},
		{"forecast", []string{"forecast", "--plan", plan, rig}, exitDone, "Left  ", ""},
		{"forecast as json", []string{"forecast", "--plan", plan, "--format", "json", rig}, exitDone, `"version": "forebed.forecast/1"`, ""},
		{"forecast as html", []string{"forecast", "--plan", plan, "--format", "html", rig}, exitDone, "<svg", ""},
		{"forecast without a plan", []string{"forecast", rig}, exitUsage, "", "plan"},
		{"forecast with no plan", []string{"forecast", "--plan", rig, rig}, exitRefused, "", "rig.csv"},
		{"calendar", []string{"calendar", "--plan", plan, "--today", "2026-06-01", rig}, exitDone, "2026-05-21", ""},
		{"calendar as ics", []string{"calendar", "--plan", plan, "--today", "2026-06-01", "--format", "ics", rig}, exitDone, "BEGIN:VCALENDAR\r\n", ""},
		{"an unknown command", []string{"frobnicate"}, exitUsage, "", "frobnicate"},
		{"no file", []string{"show"}, exitUsage, "", "log file"},
	} {
		was := before()
		code, out, errs := forebed(t, append([]string{"log"}, c.args...)...)
		if code != c.code || !strings.Contains(out, c.out) || !strings.Contains(errs, c.err) {
			t.Errorf("%s: exit code %d, want %d\n%s\n%s", c.name, code, c.code, out, errs)
		}
		if code != exitDone && (out != "" || before() != was) {
			t.Errorf("%s: a failure left %q, and the log as\n%s", c.name, out, before())
		}
	}
	other := filepath.Join(dir, "other.csv")
	if code, _, stderr := forebed(t, "log", "import", "--new", "--from", rig, "--out-of-order", other); code != exitDone {
		t.Error(stderr)
	}
	if code, _, stderr := forebed(t, "log", "import", "--from", rig, other); code != exitRefused || !strings.Contains(stderr, "rig.csv:2:") {
		t.Errorf("a log was imported over itself: %d %s", code, stderr)
	}
	if code, out, _ := forebed(t, "log", "import", "--from", rig, "--skip-known", other); code != exitDone || !strings.Contains(out, "0 rows taken, 6 known") {
		t.Errorf("known rows: %d %s", code, out)
	}
}

// The example log belongs to the example rig and report of the window round,
// all invented.
func TestExampleLog(t *testing.T) {
	plan := filepath.Join(t.TempDir(), "plan.json")
	rig, log := filepath.Join(root, "testdata/examples/rig-windows.yaml"), filepath.Join(root, "testdata/examples/log-windows.csv")
	if code, _, stderr := forebed(t, "plan", "--format", "json", "--rig", rig, "--output", plan, filepath.Join(root, "testdata/reports/window-round-town-supply.csv")); code != exitDone {
		t.Fatal(stderr)
	}
	code, out, stderr := forebed(t, "log", "forecast", "--units", "metric", "--plan", plan, "--rig", rig, log)
	if code != exitDone || !strings.Contains(out, "Fill 3, in service since 2026-03-31") || !strings.Contains(out, "TEST SILICA NOW") {
		t.Errorf("exit code %d\n%s\n%s", code, out, stderr)
	}
	code, out, stderr = forebed(t, "log", "calendar", "--plan", plan, "--rig", rig, "--today", "2026-04-22", log)
	if code != exitDone || strings.Contains(out, "coliform") || !strings.Contains(out, "2026-09-03") {
		t.Errorf("a town supply, a cartridge changed in March: exit code %d\n%s\n%s", code, out, stderr)
	}
}
