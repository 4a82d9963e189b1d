package labreport

import (
	"errors"
	"fmt"

	"forebed/chem/analysis"
	"forebed/schemas"
)

// Reasons to refuse an input, for errors.Is.
var (
	ErrNotWater  = errors.New("not a water analysis")
	ErrNoResults = errors.New("no results")
	ErrPending   = errors.New("results are pending")
	ErrTooLarge  = errors.New("too large")
	ErrBroken    = errors.New("the file is broken")
)

// Refusal is the error of an input that cannot be read: the problems, and
// what had been noticed until then, with codes ("not_water", "no_results",
// "pending_results" and others).
type Refusal struct {
	Problems schemas.Problems
	Warnings []analysis.Warning
}

// Error prints the problems with their remedies.
func (r *Refusal) Error() string { return r.Problems.Error() }

// Unwrap returns the problems.
func (r *Refusal) Unwrap() error { return r.Problems }

// code names a sentinel in documents and scripts.
func code(err error) string {
	switch {
	case errors.Is(err, ErrNotWater):
		return "not_water"
	case errors.Is(err, ErrPending):
		return "pending_results"
	case errors.Is(err, ErrTooLarge):
		return "too_large"
	case errors.Is(err, ErrBroken):
		return "broken_file"
	}
	return "no_results"
}

// refuse makes the error of an input that cannot be read.
func refuse(reason error, o Options, line int, found, want, remedy string, also ...analysis.Warning) *Refusal {
	p := schemas.Problem{File: o.File, Line: line, Found: found, Want: want, Remedy: remedy, Err: reason}
	w := analysis.Warning{Code: code(reason), Message: found + "; expected " + want, Line: line}
	return &Refusal{Problems: schemas.Problems{p}, Warnings: append([]analysis.Warning{w}, also...)}
}

func sizeOf(n int) string {
	if n >= 1<<20 {
		return fmt.Sprintf("%.1f MiB", float64(n)/(1<<20))
	}
	return countOf(n, "byte")
}

func countOf(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
