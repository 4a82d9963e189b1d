package schemas

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// Problem is one fault of a document, with its place and a remedy.
type Problem struct {
	File         string // as the user named it; "-" for standard input
	Line, Column int    // 1-based; 0 when unknown
	Field        string // JSON pointer such as /samples/0/results/3/unit; empty when none applies
	Found        string // what stands there
	Want         string // what was expected
	Remedy       string // one sentence, imperative
	Err          error  // sentinel for errors.Is; may be nil
}

// Error prints the place and the fault on one line, the remedy on the next.
func (p Problem) Error() string {
	var b strings.Builder
	if p.File != "" {
		b.WriteString(p.File + ":")
	}
	if p.Line > 0 {
		fmt.Fprintf(&b, "%d:", p.Line)
		if p.Column > 0 {
			fmt.Fprintf(&b, "%d:", p.Column)
		}
	}
	if b.Len() > 0 {
		b.WriteByte(' ')
	}
	if p.Field != "" {
		b.WriteString(p.Field + ": ")
	}
	b.WriteString("found " + p.Found)
	if p.Want != "" {
		b.WriteString(", expected " + p.Want)
	}
	if p.Remedy != "" {
		b.WriteString("\n  try: " + p.Remedy)
	}
	return b.String()
}

// Unwrap returns the sentinel.
func (p Problem) Unwrap() error { return p.Err }

// Problems are the faults of one document, all of them.
type Problems []Problem

// maxShown bounds how many problems are printed; the rest are counted.
const maxShown = 20

// Error prints the problems in order of place, at most 20 of them.
func (ps Problems) Error() string {
	var b strings.Builder
	for i, p := range ps.Sorted() {
		if i == maxShown {
			fmt.Fprintf(&b, "\n... and %d more", len(ps)-maxShown)
			break
		}
		if i > 0 {
			b.WriteByte('\n')
		}
		b.WriteString(p.Error())
	}
	return b.String()
}

// Unwrap returns the problems one by one, for errors.Is and errors.As.
func (ps Problems) Unwrap() []error {
	errs := make([]error, len(ps))
	for i, p := range ps {
		errs[i] = p
	}
	return errs
}

// Sorted returns the problems in order of file, line and column.
func (ps Problems) Sorted() Problems {
	s := slices.Clone(ps)
	slices.SortStableFunc(s, func(a, b Problem) int {
		return cmp.Or(cmp.Compare(a.File, b.File), cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column))
	})
	return s
}

// Err returns the problems as an error, or nil when there are none.
func (ps Problems) Err() error {
	if len(ps) == 0 {
		return nil
	}
	return ps
}
