package main

import (
	"errors"
	"fmt"

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

func onUsageError(c *cli.Context, err error, _ bool) error {
	remedy := "run forebed --help"
	if c.Command != nil && c.Command.Name != "" && c.Command.Name != "forebed" {
		remedy = fmt.Sprintf("run forebed %s --help", c.Command.Name)
	}
	return usagef("%v", err)(remedy)
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
