package main

import (
	"fmt"
	"strings"
	"sync"

	"github.com/go-playground/validator/v10"
	"github.com/urfave/cli/v2"
)

var validate = sync.OnceValue(func() *validator.Validate { return validator.New(validator.WithRequiredStructEnabled()) })

// bounded checks the value of a flag by a rule in the validator's words, such
// as min=50,max=20000, and says what was expected and one remedy.
func bounded(flag string, value any, rule, want, remedy string) error {
	if validate().Var(value, rule) == nil {
		return nil
	}
	found := fmt.Sprint(value)
	if text, ok := value.(string); ok {
		found = fmt.Sprintf("%q", text)
	}
	return usagef("--%s: found %s, expected %s", flag, found, want)(remedy)
}

// oneOf returns the action of a flag that takes some words only.
func oneOf(flag string, allowed ...string) func(*cli.Context, string) error {
	return func(_ *cli.Context, value string) error {
		return bounded(flag, value, "oneof="+strings.Join(allowed, " "), "one of: "+strings.Join(allowed, ", "), "use one of them")
	}
}
