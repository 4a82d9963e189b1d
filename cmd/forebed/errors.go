package main

import (
	"errors"
	"fmt"
	"regexp"

	"github.com/urfave/cli/v2"

	"forebed/chem/labreport"
	"forebed/schemas"
)

// errStopCaution ends a command that was asked to be strict (exit code 4).
var errStopCaution = errors.New("the plan has a stop caution")

// usageError is a wrong flag or argument.
type usageError struct{ fault, remedy string }

func (e usageError) Error() string {
	if e.remedy == "" {
		return "forebed: " + e.fault
	}
	return "forebed: " + e.fault + "\n  try: " + e.remedy
}

// usagef makes a usage error from its fault; the function it returns adds the
// remedy.
func usagef(format string, args ...any) func(remedy string) error {
	return func(remedy string) error { return usageError{fmt.Sprintf(format, args...), remedy} }
}

// libraryFaults are what the library says of a flag, and how it is said here.
var libraryFaults = []struct {
	said *regexp.Regexp
	here string
}{
	{regexp.MustCompile(`^invalid value (".*") for flag -(\S+): parse error$`), "--$2: found $1, expected a whole number"},
	{regexp.MustCompile(`^invalid value ".*" for flag -(\S+): (.*)$`), "--$1: $2"},
	{regexp.MustCompile(`^flag provided but not defined: -(.*)$`), "found --$1, which is no flag of this command"},
	{regexp.MustCompile(`^flag needs an argument: -(.*)$`), "--$1: found nothing behind it, expected a value"},
}

func onUsageError(c *cli.Context, err error, _ bool) error {
	name := "forebed"
	if c.Command != nil && c.Command.HelpName != "" {
		name = c.Command.HelpName
	}
	fault := err.Error()
	for _, f := range libraryFaults {
		if f.said.MatchString(fault) {
			fault = f.said.ReplaceAllString(fault, f.here)
			break
		}
	}
	return usagef("%s", fault)("run " + name + " --help")
}

// ofFlags says faults of values that flags gave in the words of usage; name
// turns the field of a fault into the flag.
func ofFlags(err error, name func(field string) string) error {
	var ps schemas.Problems
	if !errors.As(err, &ps) || len(ps) == 0 {
		return err
	}
	p := ps[0]
	return usagef("--%s: found %s, expected %s", name(p.Field), p.Found, p.Want)(p.Remedy)
}

// isUsage tells whether an error says that a flag or argument is wrong,
// whatever the documents hold.
func isUsage(err error) bool {
	var u usageError
	return errors.As(err, &u) || errors.Is(err, labreport.ErrEdit) || errors.Is(err, labreport.ErrNoPads)
}

// isRefusal tells whether an error says that the input is at fault.
func isRefusal(err error) bool {
	var ps schemas.Problems
	var p schemas.Problem
	var r *labreport.Refusal
	return errors.As(err, &r) || errors.As(err, &ps) || errors.As(err, &p)
}

// message prints an error for standard error. A refused report also says the
// codes of what was noticed, which scripts may rely on.
func message(err error) string {
	s := err.Error()
	var r *labreport.Refusal
	if errors.As(err, &r) {
		for _, w := range r.Warnings {
			s += fmt.Sprintf("\n  [%s] %s", w.Code, w.Message)
		}
	}
	return s
}
