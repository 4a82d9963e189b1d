package riglog

import (
	"encoding/csv"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"forebed/chem/process"
	"forebed/chem/unit"
	"forebed/schemas"
)

// Date is a day at the rig, with the time of day where it is known. It has no
// time zone. A day without a time stands before every time of that day.
type Date struct {
	t     time.Time // in UTC, whatever the zone of the rig
	clock bool
}

const (
	dayLayout   = "2006-01-02"
	clockLayout = "2006-01-02T15:04"
)

// ParseDate reads 2026-04-03 or 2026-04-03T18:30 (ISO 8601, without a zone),
// from the year 1970 to 2199.
func ParseDate(s string) (Date, error) {
	for _, layout := range []string{dayLayout, clockLayout} {
		if t, err := time.Parse(layout, s); err == nil && t.Year() >= 1970 && t.Year() < 2200 {
			return Date{t, layout == clockLayout}, nil
		}
	}
	return Date{}, fmt.Errorf("%q is not a date such as 2026-04-03 or 2026-04-03T18:30", s)
}

// DayOf returns the day that the calendar at t shows.
func DayOf(t time.Time) Date {
	return Date{t: time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, time.UTC)}
}

// String returns the date as ParseDate reads it.
func (d Date) String() string {
	if d.clock {
		return d.t.Format(clockLayout)
	}
	return d.t.Format(dayLayout)
}

// Day returns the date without its time of day.
func (d Date) Day() Date { return DayOf(d.t) }

// Midnight returns the begin of the day, in UTC.
func (d Date) Midnight() time.Time { return d.Day().t }

// Days returns the days from the first of January 1970.
func (d Date) Days() float64 { return float64(d.t.Unix()) / 86400 }

// AddDays returns the day so many days later.
func (d Date) AddDays(n int) Date { return DayOf(d.t.AddDate(0, 0, n)) }

// AddMonths returns the day so many months later, the last of the month where
// that month is too short; a part of a month counts 30.44 days to the month.
func (d Date) AddMonths(months float64) Date {
	whole, part := math.Modf(months)
	first := time.Date(d.t.Year(), d.t.Month()+time.Month(whole), 1, 0, 0, 0, 0, time.UTC)
	last := first.AddDate(0, 1, -1).Day()
	day := first.AddDate(0, 0, min(d.t.Day(), last)-1)
	return DayOf(day.AddDate(0, 0, int(math.Round(part*30.44))))
}

// Month returns the month of the date.
func (d Date) Month() time.Month { return d.t.Month() }

// Compare orders dates.
func (d Date) Compare(e Date) int { return d.t.Compare(e.t) }

// Kind tells what an entry records.
type Kind string

// The kinds of entry.
const (
	Reading Kind = "reading"
	Refill  Kind = "refill"
	Stage   Kind = "stage"
)

// Reason tells why the vessel was refilled.
type Reason string

// The reasons of a refill. A fill that was changed by schedule had not come to
// its end: its life is only known to be longer than that.
const (
	Spots    Reason = "spots"
	Meter    Reason = "meter"
	Silica   Reason = "silica"
	Schedule Reason = "schedule"
)

// Unit is the unit of a water meter.
type Unit string

// The units of a water meter.
const (
	Gallons Unit = "gal" // US gallons
	Litres  Unit = "L"
)

// in returns an amount of the unit as litres.
func (u Unit) in(amount float64) unit.Litres {
	if u == Gallons {
		return unit.Gallons(amount)
	}
	return unit.Litres(amount)
}

// Event is what happened to the meter.
type Event struct {
	Kind EventKind
	Full float64 // of a rollover: the count at which the meter starts again at 0
}

// EventKind names what can happen to a meter.
type EventKind string

// The events of a meter.
const (
	NoEvent  EventKind = ""
	Rollover EventKind = "rollover" // it passed its highest count since the row before
	Reset    EventKind = "reset"    // it began again at 0 since the row before, or was replaced
	Zeroed   EventKind = "zeroed"   // it was set to 0 after this row was read
)

// String returns the event as it stands in the file.
func (e Event) String() string {
	if e.Kind == Rollover {
		return string(Rollover) + " " + number(e.Full)
	}
	return string(e.Kind)
}

// Count is what a water meter shows.
type Count struct {
	Amount float64
	Unit   Unit
	Event  Event
}

// SilicaTest is a test of the product, in mg/L as SiO2.
type SilicaTest struct {
	Value float64
	Below bool // the test showed less than Value
}

// String returns the test as it stands in the file.
func (t SilicaTest) String() string {
	if t.Below {
		return "<" + number(t.Value)
	}
	return number(t.Value)
}

// Entry is one row of a log. What was not written down is nil or empty.
type Entry struct {
	Line    int // of the file, the first is 1; 0 before it is written
	Date    Date
	Kind    Kind
	Meter   *Count
	Feed    *float64 // ppm
	Product *float64 // ppm
	Silica  *SilicaTest
	Reason  Reason
	Stage   process.Kind
	Task    string
	Note    string
}

// columns are the names of the columns, in the order of the file.
var columns = []string{"date", "entry", "meter", "meter_unit", "meter_event", "feed_ppm", "product_ppm", "silica_mg_per_l", "reason", "stage", "task", "note"}

// stageKinds are the stages that an upkeep entry may name.
var stageKinds = []process.Kind{
	process.SedimentFilter, process.Carbon, process.CatalyticCarbon, process.Aeration, process.OxidantFeed,
	process.OxidizingMediaFilter, process.Softener, process.AcidNeutralizer, process.Degasser, process.ReverseOsmosis,
	process.OrganicsTrap, process.Disinfection, Vessel, Well,
}

// StageKinds returns the stages that an upkeep entry may name.
func StageKinds() []process.Kind { return slices.Clone(stageKinds) }

// What an upkeep entry may name beside the stages of a plan.
const (
	Vessel process.Kind = "vessel" // the rig behind the stages: hoses, nozzles, housings
	Well   process.Kind = "well"   // the well and its yearly tests
)

func oneOf[T ~string](words []T) string {
	s := make([]string, len(words))
	for i, w := range words {
		s[i] = string(w)
	}
	return strings.Join(s, ", ")
}

// number prints a figure without loss.
func number(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// parseNumber reads a figure of 0 or more: digits and at most one decimal
// point, no separators of thousands, no exponent.
func parseNumber(s string) (float64, error) {
	plain := s != "" && strings.IndexFunc(s, func(r rune) bool { return r != '.' && (r < '0' || r > '9') }) < 0
	x, err := strconv.ParseFloat(s, 64)
	if !plain || err != nil || x > 1e12 {
		return 0, fmt.Errorf("%q is not a plain number such as 1234.5", s)
	}
	return x, nil
}

// ParsePPM reads what a pen shows.
func ParsePPM(s string) (float64, error) { return parseNumber(s) }

// ParseMeter reads the figure of a meter.
func ParseMeter(amount string, u Unit, event string) (*Count, error) {
	x, err := parseNumber(amount)
	if err != nil {
		return nil, err
	}
	if u != Gallons && u != Litres {
		return nil, fmt.Errorf("%q is not a unit of a meter: gal or L", string(u))
	}
	c := &Count{Amount: x, Unit: u}
	kind, full, _ := strings.Cut(event, " ")
	switch c.Event.Kind = EventKind(kind); {
	case c.Event.Kind == Rollover:
		if c.Event.Full, err = parseNumber(full); err != nil {
			return nil, fmt.Errorf("rollover needs the count at which the meter starts again: %w", err)
		}
		if c.Event.Full <= x {
			return nil, fmt.Errorf("a meter that starts again at %s cannot show %s", number(c.Event.Full), amount)
		}
	case full != "" || !slices.Contains([]EventKind{NoEvent, Reset, Zeroed}, c.Event.Kind):
		return nil, fmt.Errorf("%q is not an event of a meter: rollover and its highest count, reset, or zeroed", event)
	}
	return c, nil
}

// ParseSilica reads a silica test: 2 or <0.5, in mg/L as SiO2.
func ParseSilica(s string) (*SilicaTest, error) {
	digits, below := strings.CutPrefix(s, "<")
	x, err := parseNumber(digits)
	if err == nil && below && x == 0 {
		err = errors.New("less than 0")
	}
	if err != nil {
		return nil, fmt.Errorf("%q is not a silica test such as 2 or <0.5", s)
	}
	return &SilicaTest{x, below}, nil
}

// text returns the fields of an entry in the order of columns.
func (e *Entry) text() []string {
	f := make([]string, len(columns))
	f[0], f[1] = e.Date.String(), string(e.Kind)
	if m := e.Meter; m != nil {
		f[2], f[3], f[4] = number(m.Amount), string(m.Unit), m.Event.String()
	}
	if e.Feed != nil {
		f[5] = number(*e.Feed)
	}
	if e.Product != nil {
		f[6] = number(*e.Product)
	}
	if e.Silica != nil {
		f[7] = e.Silica.String()
	}
	f[8], f[9], f[10], f[11] = string(e.Reason), string(e.Stage), e.Task, e.Note
	return f
}

// row returns the entry as one line of the file, line feed included. Task and
// note are quoted, so that a line that was cut short cannot be taken for a
// whole one.
func (e *Entry) row() []byte {
	f := e.text()
	for i := range f {
		if f[i] != "" && (i >= 10 || strings.ContainsAny(f[i], ",\"")) {
			f[i] = `"` + strings.ReplaceAll(f[i], `"`, `""`) + `"`
		}
	}
	return []byte(strings.Join(f, ",") + "\n")
}

// fieldError is a fault of one column.
type fieldError struct {
	column, found, want, remedy string
}

// entryOf reads the fields of one row, and says everything that is wrong.
func entryOf(fields []string) (Entry, []fieldError) {
	var e Entry
	var faults []fieldError
	fault := func(column, want, remedy string) {
		found := "nothing"
		if v := fields[slices.Index(columns, column)]; v != "" {
			found = strconv.Quote(v)
		}
		faults = append(faults, fieldError{column, found, want, remedy})
	}
	for i, f := range fields {
		fields[i] = strings.TrimSpace(f)
	}
	var err error
	if e.Date, err = ParseDate(fields[0]); err != nil {
		fault("date", "a date such as 2026-04-03 or 2026-04-03T18:30", "write year, month and day in that order")
	}
	e.Kind, e.Reason, e.Stage, e.Task, e.Note = Kind(fields[1]), Reason(fields[8]), process.Kind(fields[9]), fields[10], fields[11]
	if !slices.Contains([]Kind{Reading, Refill, Stage}, e.Kind) {
		fault("entry", "reading, refill or stage", "use one of the three words")
	}
	if fields[2] != "" {
		if e.Meter, err = ParseMeter(fields[2], Unit(fields[3]), fields[4]); err != nil {
			_, bad := parseNumber(fields[2])
			switch u := Unit(fields[3]); {
			case bad != nil:
				fault("meter", "a plain number of 0 or more", "write digits with a decimal point, no unit and no separators")
			case u != Gallons && u != Litres:
				fault("meter_unit", "gal or L", "say what the meter counts: gal (US gallons) or L")
			default:
				fault("meter_event", "nothing, or what happened to the meter: rollover and its highest count, reset, zeroed",
					"with rollover, state the count at which the meter starts again, such as rollover 100000; it is above the figure on the meter")
			}
		}
	} else if e.Kind != Stage {
		fault("meter", "what the water meter shows", "write the figure on the meter")
	} else if fields[3] != "" || fields[4] != "" {
		fault("meter", "the figure that the unit or event belongs to", "write the figure on the meter, or empty meter_unit and meter_event")
	}
	figure := func(column string) *float64 {
		v := fields[slices.Index(columns, column)]
		if v == "" {
			return nil
		}
		x, err := parseNumber(v)
		if err != nil {
			fault(column, "a plain number of 0 or more", "write digits with a decimal point, no unit and no separators")
			return nil
		}
		return &x
	}
	e.Feed, e.Product = figure("feed_ppm"), figure("product_ppm")
	if fields[7] != "" {
		if e.Silica, err = ParseSilica(fields[7]); err != nil {
			fault("silica_mg_per_l", "a silica test such as 2 or <0.5", "write the figure in mg/L as SiO2, with < for less than")
		}
	}
	return e, append(faults, e.relations()...)
}

// relations says what of an entry does not fit its kind.
func (e *Entry) relations() []fieldError {
	var faults []fieldError
	fault := func(column, found, want, remedy string) {
		if found == "" {
			found = "nothing"
		}
		faults = append(faults, fieldError{column, found, want, remedy})
	}
	reasons := []Reason{Spots, Meter, Silica, Schedule}
	switch {
	case e.Kind == Refill && !slices.Contains(reasons, e.Reason):
		fault("reason", string(e.Reason), "why the vessel was refilled: "+oneOf(reasons), "use one of the words; schedule means that nothing was wrong yet")
	case e.Kind != Refill && e.Reason != "":
		fault("reason", string(e.Reason), "nothing", "only a refill has a reason")
	}
	switch {
	case e.Kind == Stage && !slices.Contains(stageKinds, e.Stage):
		fault("stage", string(e.Stage), "one of "+oneOf(stageKinds), "name the stage that was looked after")
	case e.Kind == Stage && e.Task == "":
		fault("task", "", "what was done", "write it in a few words, such as: change the cartridge")
	case e.Kind != Stage && e.Stage != "":
		fault("stage", string(e.Stage), "nothing", "only a stage entry names a stage")
	case e.Kind != Stage && e.Task != "":
		fault("task", e.Task, "nothing", "only a stage entry names a task")
	}
	for _, c := range []struct{ column, text string }{{"task", e.Task}, {"note", e.Note}} {
		if !utf8.ValidString(c.text) || strings.ContainsFunc(c.text, unicode.IsControl) {
			fault(c.column, strconv.Quote(c.text), "text of one line", "leave out line breaks, tabs and other control characters")
		}
	}
	return faults
}

// Check reports everything about an entry that cannot be written to a log.
func (e *Entry) Check() error {
	_, faults := entryOf(e.text())
	return problems("", 0, faults).Err()
}

func problems(file string, line int, faults []fieldError) schemas.Problems {
	var ps schemas.Problems
	for _, f := range faults {
		ps = append(ps, schemas.Problem{File: file, Line: line, Field: f.column, Found: f.found, Want: f.want, Remedy: f.remedy, Err: schemas.ErrInvalid})
	}
	return ps
}

// splitLine reads the cells of one line.
func splitLine(line string) ([]string, error) {
	r := csv.NewReader(strings.NewReader(line))
	r.FieldsPerRecord = -1
	fields, err := r.Read()
	if err != nil {
		var pe *csv.ParseError
		if errors.As(err, &pe) {
			err = pe.Err
		}
		return nil, err
	}
	return fields, nil
}
