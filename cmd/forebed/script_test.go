package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

// TestMain lets the scripts run this test binary as the command.
func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"forebed": func() {
			ctx, cancel := signal.NotifyContext(context.Background(), os.Interrupt)
			defer cancel()
			os.Exit(run(ctx, os.Args, os.Stdin, os.Stdout, os.Stderr))
		},
	})
}

// TestScripts runs every script in testdata/script: one behaviour each. Beside
// the commands of testscript they may use
//
//	code N forebed ARGS     run it, and demand the exit code N
//	field POINTER PATTERN   demand that a value of the JSON on standard output matches;
//	                        * in the pointer stands for any member of a list or group
//	same FILE               demand that standard output is FILE, byte for byte
//
// and the folder $TESTDATA, which is testdata at the top of the module.
func TestScripts(t *testing.T) {
	data, err := filepath.Abs(filepath.Join(root, "testdata"))
	if err != nil {
		t.Fatal(err)
	}
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata/script",
		RequireExplicitExec: true,
		Setup: func(env *testscript.Env) error {
			env.Setenv("TESTDATA", data)
			return nil
		},
		Cmds: map[string]func(ts *testscript.TestScript, neg bool, args []string){"code": exitCode, "field": field, "same": same},
	})
}

func exitCode(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: code N COMMAND [ARGS]")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	got := 0
	var exit *exec.ExitError
	switch err := ts.Exec(args[1], args[2:]...); {
	case errors.As(err, &exit):
		got = exit.ExitCode()
	case err != nil:
		ts.Fatalf("%v", err)
	}
	if got != want {
		ts.Fatalf("exit code %d, want %d", got, want)
	}
}

func same(ts *testscript.TestScript, neg bool, args []string) {
	if len(args) != 1 {
		ts.Fatalf("usage: [!] same FILE")
	}
	if got, want := ts.ReadFile("stdout"), ts.ReadFile(args[0]); (got == want) == neg {
		ts.Fatalf("standard output has %d bytes, %s %d; same: %v", len(got), args[0], len(want), got == want)
	}
}

func field(ts *testscript.TestScript, neg bool, args []string) {
	if len(args) != 2 {
		ts.Fatalf("usage: [!] field POINTER PATTERN")
	}
	pattern, err := regexp.Compile("^(?:" + args[1] + ")$")
	ts.Check(err)
	var doc any
	dec := json.NewDecoder(strings.NewReader(ts.ReadFile("stdout")))
	dec.UseNumber()
	ts.Check(dec.Decode(&doc))
	var found []string
	matched := false
	for _, v := range values(doc, strings.Split(strings.TrimPrefix(args[0], "/"), "/")) {
		s := fmt.Sprint(v)
		found = append(found, s)
		matched = matched || pattern.MatchString(s)
	}
	if matched == neg {
		ts.Fatalf("%s is %q; pattern %s", args[0], found, args[1])
	}
}

// values follows a pointer in which * stands for any member.
func values(v any, path []string) []any {
	if len(path) == 0 {
		return []any{v}
	}
	var all []any
	switch x := v.(type) {
	case map[string]any:
		for k, e := range x {
			if path[0] == "*" || path[0] == k {
				all = append(all, values(e, path[1:])...)
			}
		}
	case []any:
		for i, e := range x {
			if path[0] == "*" || path[0] == strconv.Itoa(i) {
				all = append(all, values(e, path[1:])...)
			}
		}
	}
	return all
}
