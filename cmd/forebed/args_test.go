package main

import (
	"io"
	"strings"
	"testing"
)

func TestFlagsFirst(t *testing.T) {
	for given, want := range map[string]string{
		"forebed plan report.txt --format json":         "forebed plan --format json report.txt",
		"forebed plan report.txt --strict":              "forebed plan --strict report.txt",
		"forebed plan --seed=3 report.txt -o x.html":    "forebed plan --seed=3 -o x.html report.txt",
		"forebed read - --set iron=1mg/L":               "forebed read --set iron=1mg/L -",
		"forebed rules explain bed-iron a.txt --seed 2": "forebed rules explain --seed 2 bed-iron a.txt",
		"forebed read -- --odd-name":                    "forebed read -- --odd-name",
		"forebed plan report.txt --nonsense":            "forebed plan --nonsense report.txt",
		"forebed --version":                             "forebed --version",
		"forebed":                                       "forebed",
	} {
		app := newApp(strings.NewReader(""), io.Discard, io.Discard)
		if got := strings.Join(flagsFirst(app, strings.Fields(given)), " "); got != want {
			t.Errorf("%q became %q, want %q", given, got, want)
		}
	}
}
