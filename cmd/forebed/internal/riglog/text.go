package riglog

import (
	"encoding/csv"
	"fmt"
	"io"
	"slices"
	"strings"

	"forebed/schemas"
)

// Begin returns the text of a log that holds one entry.
func Begin(e Entry) ([]byte, error) {
	if err := e.Check(); err != nil {
		return nil, err
	}
	return append([]byte(header), e.row()...), nil
}

// Extend returns the row that adds an entry to a log of that text, to stand
// behind it, and the entry with its line. file is what the user called it.
func Extend(file string, text []byte, e Entry, c Confirm) (row []byte, placed Entry, err error) {
	if err := e.Check(); err != nil {
		return nil, e, err
	}
	l, err := Parse(file, text)
	if err != nil {
		return nil, e, err
	}
	if err := l.Ask(&e, c); err != nil {
		return nil, e, err
	}
	e.Line = len(splitRows(text)) + 1
	return ended(text, e.row()), e, nil
}

// ended returns rows to stand behind data, which may lack its last line feed.
func ended(data, rows []byte) []byte {
	if len(data) > 0 && data[len(data)-1] != '\n' {
		rows = append([]byte("\n"), rows...)
	}
	return rows
}

// EntryOf reads an entry from text by column; a column that is left out is
// empty. The error names every column that is wrong.
func EntryOf(text map[string]string) (Entry, error) {
	fields := make([]string, len(columns))
	for column, value := range text {
		i := slices.Index(columns, column)
		if i < 0 {
			return Entry{}, fmt.Errorf("a log has no column %q", column)
		}
		fields[i] = value
	}
	e, faults := entryOf(fields)
	return e, problems("", 0, faults).Err()
}

// ParseImport reads a CSV file with the columns of a log in any order. A
// missing entry column means readings.
func ParseImport(file string, data []byte) ([]Entry, error) {
	lines := splitRows(data)
	if len(lines) < 1 || len(data) > largest {
		return nil, damaged(file, 1, fmt.Sprintf("%d bytes", len(data)), "column names and rows below them", "name the columns as forebed log export does")
	}
	heads, err := splitLine(lines[0])
	if err != nil {
		return nil, damaged(file, 1, quote(lines[0]), "column names; "+err.Error(), "save the file as CSV with commas")
	}
	place := make([]int, len(heads))
	var ps schemas.Problems
	for i, h := range heads {
		place[i] = slices.Index(columns, strings.ToLower(strings.TrimSpace(h)))
		if place[i] < 0 || slices.Index(place[:i], place[i]) >= 0 {
			ps = append(ps, schemas.Problem{File: file, Line: 1, Column: i + 1, Found: fmt.Sprintf("a column %q", h), Want: "each of these at most once: " + oneOf(columns),
				Remedy: "rename or take out the column, so that nothing is lost unseen", Err: schemas.ErrInvalid})
		}
	}
	if len(ps) > 0 {
		return nil, ps
	}
	var entries []Entry
	for i, line := range lines[1:] {
		cells, err := splitLine(line)
		if err != nil || len(cells) != len(heads) {
			ps = append(ps, damaged(file, i+2, quote(line), fmt.Sprintf("%d columns, as the first line has", len(heads)), "mend the line")...)
			continue
		}
		fields := make([]string, len(columns))
		if !slices.Contains(place, 1) {
			fields[1] = string(Reading)
		}
		for k, cell := range cells {
			fields[place[k]] = cell
		}
		e, faults := entryOf(fields)
		e.Line = i + 2
		ps = append(ps, problems(file, i+2, faults)...)
		entries = append(entries, e)
	}
	return entries, ps.Err()
}

// Export writes entries as CSV with the columns of a log.
func Export(w io.Writer, entries []Entry) error {
	cw := csv.NewWriter(w)
	if err := cw.Write(columns); err != nil {
		return err
	}
	for i := range entries {
		if err := cw.Write(entries[i].text()); err != nil {
			return err
		}
	}
	cw.Flush()
	return cw.Error()
}
