package labreport

import (
	"forebed/chem/analysis"
)

// Options are what the caller knows about the input beside its bytes.
type Options struct {
	File string // name to show in errors; "-" for standard input
}

// Reading is what a report was read as, and what became of each of its lines.
type Reading struct {
	Document analysis.Document
	Format   string // "text", "csv", "wqx", "wide", "json", "xlsx", "pdf", "html", "mail"
	Lines    []Fate // one for every line of the input (of a mail: of its part with the results) that is not blank, in order

	foreign int // rows of a table that are about something else than water
}

// Fate tells what became of one line of the input.
type Fate struct {
	Line int // 1-based
	What What
	Why  string // the reason, for a line that was not read
}

// What is the kind of a fate.
type What int

// The fates of a line.
const (
	Ignored   What = iota // says nothing about the water; Why tells what it was taken for
	HasResult             // at least one result stands on it
	Explains              // no result, but it tells how to read others: a heading, a legend, a unit
	Doubtful              // something on it was not understood, or withheld
)

// row is one line of the decoded input. Formats that know their cells (CSV,
// XLSX, HTML, PDF) give them; free text leaves cells nil.
type row struct {
	line  int      // 1-based line (or table row) of the input
	text  string   // the line; for known cells, the cells joined by tabs
	cells []string // nil for free text
	span  int      // further lines of the input that belong to it (a quoted cell with line ends)
}

// source is decoded input of any format.
type source struct {
	format string
	rows   []row
	sheets []sheet // of a workbook with several
}

// sheet is the run of rows that a sheet of a workbook holds, without its name.
type sheet struct {
	name        string
	first, last int // indexes of its rows: first <= i < last
}

// Read reads a report, whatever its format. The error of an input that cannot
// be read is a *Refusal.
func Read(input []byte, o Options) (*Reading, error) {
	if len(input) > MaxBytes {
		return nil, refuse(ErrTooLarge, o, 0, sizeOf(len(input)), "at most "+sizeOf(MaxBytes), "paste the pages with the results only")
	}
	src, done, err := recognise(input, o)
	if err != nil || done != nil {
		return done, err
	}
	if len(src.rows) > MaxLines {
		return nil, refuse(ErrTooLarge, o, MaxLines+1, countOf(len(src.rows), "line"), "at most "+countOf(MaxLines, "line"), "paste the pages with the results only")
	}
	r, err := interpret(src, o)
	if err != nil {
		return nil, err
	}
	r.Lines = spread(r.Lines, src.rows)
	return r, nil
}
