package riglog

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"forebed/chem/unit"
	"forebed/schemas"
)

// ErrDamaged is the sentinel of a log that cannot be read.
var ErrDamaged = errors.New("the log is damaged")

// ErrAsk is the sentinel of an entry that is refused until it is confirmed;
// the others tell what about.
var (
	ErrAsk   = errors.New("the entry wants to be confirmed")
	ErrLate  = fmt.Errorf("%w: it is earlier than the last one", ErrAsk)
	ErrTwice = fmt.Errorf("%w: it repeats one", ErrAsk)
	ErrMeter = fmt.Errorf("%w: its meter does not go on from the entry before", ErrAsk)
)

// Log is the content of a log file.
type Log struct {
	File    string         // as the user named it
	Entries []Entry        // in the order of the file
	order   []int          // indexes of Entries by date, the order of the file within a date
	known   map[string]int // what each entry says, its note left out, and the index of the last that does
}

const header = "date,entry,meter,meter_unit,meter_event,feed_ppm,product_ppm,silica_mg_per_l,reason,stage,task,note\n"

// largest is the size of the largest file that is read.
const largest = 32 << 20

// Parse reads a log. file is what the user called it. The error holds every
// damaged row with its line, and the log is then nil.
func Parse(file string, data []byte) (*Log, error) {
	l, ps := parse(file, data)
	if len(ps) > 0 {
		return nil, ps
	}
	return l, nil
}

func parse(file string, data []byte) (*Log, schemas.Problems) {
	l := &Log{File: file}
	if len(data) > largest {
		return l, damaged(file, 0, fmt.Sprintf("%d bytes", len(data)), fmt.Sprintf("at most %d", largest), "begin a new log")
	}
	lines := splitRows(data)
	if len(lines) == 0 || !isHeader(lines[0]) {
		found := "an empty file"
		if len(lines) > 0 {
			found = quote(lines[0])
		}
		return l, damaged(file, 1, found, "the line of column names, "+strings.TrimSpace(header),
			"put that line back; save from a spreadsheet as CSV with commas, or import the file with forebed log import")
	}
	var ps schemas.Problems
	for i, line := range lines[1:] {
		e, faults := parseRow(file, i+2, line)
		if len(faults) > 0 {
			ps = append(ps, faults...)
			continue
		}
		l.add(e)
	}
	if len(ps) == 0 {
		ps = l.meterFaults()
	}
	return l, ps
}

// splitRows splits a file into lines without their ends; a byte order mark,
// which spreadsheets write, is dropped.
func splitRows(data []byte) []string {
	text := strings.TrimSuffix(string(bytes.TrimPrefix(data, []byte("\ufeff"))), "\n")
	if text == "" {
		return nil
	}
	lines := strings.Split(text, "\n")
	for i := range lines {
		lines[i] = strings.TrimSuffix(lines[i], "\r")
	}
	return lines
}

func isHeader(line string) bool {
	cells, err := splitLine(line)
	return err == nil && slices.Equal(cells, columns)
}

// parseRow reads one line of a log.
func parseRow(file string, number int, line string) (Entry, schemas.Problems) {
	if strings.TrimSpace(line) == "" {
		return Entry{}, damaged(file, number, "an empty line", "an entry", removeLine(number))
	}
	cells, err := splitLine(line)
	switch {
	case err != nil:
		return Entry{}, damaged(file, number, quote(line), "an entry; "+err.Error(), restoreLine(number))
	case len(cells) != len(columns):
		return Entry{}, damaged(file, number, fmt.Sprintf("%d columns in %s", len(cells), quote(line)), fmt.Sprintf("%d", len(columns)), restoreLine(number))
	}
	e, faults := entryOf(cells)
	e.Line = number
	ps := problems(file, number, faults)
	for i := range ps {
		ps[i].Err = ErrDamaged
	}
	return e, ps
}

func removeLine(n int) string {
	return fmt.Sprintf("forebed log correct --line %d --delete takes the line out", n)
}

func restoreLine(n int) string {
	return fmt.Sprintf("restore the line, with forebed log correct --line %d --row 'DATE,ENTRY,...', or take it out with --delete if it was cut short while it was written", n)
}

func damaged(file string, line int, found, want, remedy string) schemas.Problems {
	return schemas.Problems{{File: file, Line: line, Found: found, Want: want, Remedy: remedy, Err: ErrDamaged}}
}

// quote shows a line in an error, at most 60 characters of it.
func quote(line string) string {
	if r := []rune(line); len(r) > 60 {
		line = string(r[:60]) + "..."
	}
	return strconv.Quote(line)
}

// add takes an entry into the log, in its place by date.
func (l *Log) add(e Entry) {
	l.Entries = append(l.Entries, e)
	if l.known == nil {
		l.known = map[string]int{}
	}
	l.known[e.key()] = len(l.Entries) - 1
	at, _ := slices.BinarySearchFunc(l.order, e.Date, func(i int, d Date) int {
		return cmp.Or(l.Entries[i].Date.Compare(d), -1) // behind its equals
	})
	l.order = slices.Insert(l.order, at, len(l.Entries)-1)
}

// ByDate returns the entries by date, those of one date as they stand in the
// file.
func (l *Log) ByDate() []Entry {
	all := make([]Entry, len(l.order))
	for i, at := range l.order {
		all[i] = l.Entries[at]
	}
	return all
}

// Find returns the entry of a line of the file.
func (l *Log) Find(line int) (Entry, bool) {
	i := slices.IndexFunc(l.Entries, func(e Entry) bool { return e.Line == line })
	if i < 0 {
		return Entry{}, false
	}
	return l.Entries[i], true
}

// step returns the water between two counts of a meter that follow each
// other.
func step(from, to *Count) (unit.Litres, error) {
	base := from.Amount
	fresh := from.Event.Kind == Zeroed || to.Event.Kind == Reset
	if fresh {
		base = 0
	}
	switch {
	case from.Unit != to.Unit && !fresh:
		return 0, fmt.Errorf("the meter counts in %s, and counted in %s before", to.Unit, from.Unit)
	case to.Event.Kind == Rollover && base > to.Event.Full:
		return 0, fmt.Errorf("a meter that starts again at %s cannot have shown %s", number(to.Event.Full), number(base))
	case to.Event.Kind == Rollover:
		return to.Unit.in(to.Event.Full - base + to.Amount), nil
	case to.Amount < base:
		return 0, fmt.Errorf("the meter shows %s, less than %s before", number(to.Amount), number(base))
	}
	return to.Unit.in(to.Amount - base), nil
}

// meterFaults finds the rows whose meter does not follow from the row before
// by date.
func (l *Log) meterFaults() schemas.Problems {
	var ps schemas.Problems
	var last *Entry
	for _, i := range l.order {
		e := &l.Entries[i]
		if e.Meter == nil {
			continue
		}
		if last != nil {
			if _, err := step(last.Meter, e.Meter); err != nil {
				ps = append(ps, damaged(l.File, e.Line, fmt.Sprintf("%s: %v (line %d)", e.Date, err, last.Line), "a count that follows from the row before by date",
					fmt.Sprintf("forebed log correct --line %d --set meter=COUNT, or --set meter_event=reset if it began again, or --set 'meter_event=rollover COUNT'", e.Line))...)
			}
		}
		last = e
	}
	return ps
}

// Confirm says which questions about an entry are answered with yes.
type Confirm struct {
	OutOfOrder bool // the entry is earlier than the last one
	Duplicate  bool // the entry repeats one
}

// Ask reports what speaks against taking an entry into the log: what must be
// confirmed, and what cannot be.
func (l *Log) Ask(e *Entry, c Confirm) error {
	ask := func(about error, found, want, remedy string) error {
		return schemas.Problems{{File: l.File, Found: found, Want: want, Remedy: remedy, Err: about}}
	}
	if n := len(l.order); n > 0 && !c.OutOfOrder {
		if last := l.Entries[l.order[n-1]]; e.Date.Compare(last.Date) < 0 {
			return ask(ErrLate, fmt.Sprintf("an entry of %s, earlier than the one of %s on line %d", e.Date, last.Date, last.Line), "entries by date",
				"correct the date, or confirm with --out-of-order that it is a late entry")
		}
	}
	if twin, ok := l.twin(e); ok && !c.Duplicate {
		return ask(ErrTwice, fmt.Sprintf("the same %s of %s on line %d", e.Kind, e.Date, twin.Line), "something new",
			"leave it out, or confirm with --duplicate that it happened twice")
	}
	if e.Meter == nil {
		return nil
	}
	before, after := l.around(e.Date)
	if before != nil {
		if _, err := step(before.Meter, e.Meter); err != nil {
			return ask(ErrMeter, fmt.Sprintf("%s: %v on line %d", e.Date, err, before.Line), "a count that goes on from there",
				"correct the figure; or say --rollover COUNT if the meter passed its highest count, or --reset if it began again at 0 or was replaced")
		}
	}
	if after != nil {
		if _, err := step(e.Meter, after.Meter); err != nil {
			return ask(ErrMeter, fmt.Sprintf("%s: with this entry, on line %d %v", e.Date, after.Line, err), "a count between its neighbours by date",
				"correct the figure or the date; state the time of day where several entries share a day")
		}
	}
	return nil
}

// key is what an entry says, whatever its note.
func (e *Entry) key() string { return strings.Join(e.text()[:len(columns)-1], "\x00") }

// twin returns an entry that says the same.
func (l *Log) twin(e *Entry) (Entry, bool) {
	i, ok := l.known[e.key()]
	if !ok {
		return Entry{}, false
	}
	return l.Entries[i], true
}

// around returns the entries with a meter between which a new entry of that
// date will stand.
func (l *Log) around(d Date) (before, after *Entry) {
	for _, i := range l.order {
		e := &l.Entries[i]
		if e.Meter == nil {
			continue
		}
		if e.Date.Compare(d) > 0 {
			return before, e
		}
		before = e
	}
	return before, nil
}

// Refilled reports whether the log holds a refill, without which no fill has a
// beginning.
func (l *Log) Refilled() bool {
	return slices.ContainsFunc(l.Entries, func(e Entry) bool { return e.Kind == Refill })
}

// MeterUnit returns the unit of the last meter reading, or none.
func (l *Log) MeterUnit() Unit {
	for _, i := range slices.Backward(l.order) {
		if m := l.Entries[i].Meter; m != nil {
			return m.Unit
		}
	}
	return ""
}

// Point is an entry with the water that has gone through by then.
type Point struct {
	Entry
	Total unit.Litres // since the first meter reading of the log
	Fill  int         // 0 before the first refill, then 1 and up; a refill ends one fill and starts the next, whose number it has
	Used  unit.Litres // since the refill that started the fill
}

// Points returns the entries by date with the water that has gone through. An
// entry without a meter reading has the volumes of the one before.
func (l *Log) Points() []Point {
	var all []Point
	var p Point
	var last *Count
	var start unit.Litres
	for _, e := range l.ByDate() {
		if e.Meter != nil {
			if last != nil {
				v, _ := step(last, e.Meter) // a log that parsed has no faulty step
				p.Total += v
			}
			last = e.Meter
		}
		if e.Kind == Refill {
			p.Fill++
			start = p.Total
		}
		p.Used = p.Total - start
		p.Entry = e
		all = append(all, p)
	}
	return all
}
