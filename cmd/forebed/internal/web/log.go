package web

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"html/template"
	"slices"
	"strings"
	"unicode/utf8"

	"forebed/cmd/forebed/internal/render"
	"forebed/cmd/forebed/internal/riglog"
	"forebed/rules"
	"forebed/schemas"
)

// The log on the page is the text of a log file. It travels in the form like
// the report does, and is learned from at every press, so its size is bounded;
// a longer one is for the command line.
const (
	maxLog     = 64 << 10 // bytes: a reading a day for four years
	shownLog   = 40       // entries that the page lists; the text holds all
	defaultLog = "rig-log.csv"
)

// ofLog tells whether a button belongs to the log.
func (d Do) ofLog() bool { return slices.Contains([]Do{DoLog, DoLogAdd, DoLogCSV, DoLogICS}, d) }

// logView is the part of the page about the log.
type logView struct {
	Today, Text, Name, Plan string
	Kinds                   []option
	Common, Rare            []input // of the new entry
	Tasks                   []string
	More                    []input // of the forecast
	Untreated               bool
	Late, Twice             bool // what has been confirmed of the new entry
	AskLate, AskTwice       bool // what there is to confirm
	Open                    bool
	Said                    string // what was written down
	Headline                string // what the log comes to, for the status line
	Answer                  template.HTML
}

// entryField is one field of a new entry; Column is the log's name of it.
type entryField struct {
	Column, Label, Hint, Type, Class string
	Choices                          [][2]string
	Rare                             bool // folded away
}

// entryFields are the fields of a new entry. The classes tell for which kinds
// of entry a field is shown.
var entryFields = []entryField{
	{Column: "date", Label: "Day (empty: today)", Type: "date"},
	{Column: "meter", Label: "Water meter shows", Hint: "1234.5"},
	{Column: "meter_unit", Label: "The meter counts in", Choices: [][2]string{{"", "as before"}, {"gal", "gallons (US)"}, {"L", "litres"}}},
	{Column: "feed_ppm", Label: "Pen ahead of the vessel, ppm", Hint: "not read", Class: "not-stage"},
	{Column: "product_ppm", Label: "Pen behind the vessel, ppm", Hint: "not read", Class: "not-stage"},
	{Column: "silica_mg_per_l", Label: "Silica test behind it, mg/L", Hint: "2 or <0.5", Class: "not-stage"},
	{Column: "reason", Label: "Why it was refilled", Class: "only-refill", Choices: [][2]string{{"", "choose"},
		{string(riglog.Spots), "spots on what was rinsed"}, {string(riglog.Meter), "the pen rose"}, {string(riglog.Silica), "a silica test"}, {string(riglog.Schedule), "by schedule, nothing was wrong yet"}}},
	{Column: "stage", Label: "Which stage", Class: "only-stage", Choices: stageChoices()},
	{Column: "task", Label: "What was done", Hint: "change the cartridge", Class: "only-stage"},
	{Column: "note", Label: "Note"},
	{Column: "meter_event", Label: "The meter", Rare: true, Choices: [][2]string{{"", "went on counting"},
		{string(riglog.Rollover), "passed its highest count"}, {string(riglog.Reset), "began again at 0, or is a new one"}, {string(riglog.Zeroed), "was set to 0 after this figure"}}},
}

func stageChoices() [][2]string {
	all := [][2]string{{"", "choose"}}
	for _, k := range riglog.StageKinds() {
		all = append(all, [2]string{string(k), plain(string(k))})
	}
	return all
}

// entryFieldOf returns the field of a column.
func entryFieldOf(column string) entryField {
	i := slices.IndexFunc(entryFields, func(x entryField) bool { return x.Column == column })
	if i < 0 {
		return entryField{}
	}
	return entryFields[i]
}

// fields fills in what the form says of the log.
func (v *logView) fields(f *Form) {
	v.Today, v.Text, v.Plan = f.get(fieldToday), f.Values.Get(fieldLog), f.Values.Get(fieldPlanDoc)
	v.Name = logName(f.get(fieldLogName))
	v.Untreated = f.get(fieldUntreated) != ""
	v.Open = f.do().ofLog()
	v.More = []input{
		{Name: fieldPlanPen, Label: "Pen on the plan's water ahead of the vessel, ppm", Hint: "the log's first readings", Value: f.get(fieldPlanPen), Number: true},
		{Name: fieldBigJob, Label: "The next big job", Hint: "the busiest day", Value: f.get(fieldBigJob)},
	}
	v.entry(f.Values.Get)
}

// entry fills in the fields of the new entry.
func (v *logView) entry(get func(name string) string) {
	v.Common, v.Rare, v.Kinds = nil, nil, nil
	add := func(x entryField, name string) {
		in := input{Name: name, Label: x.Label, Hint: x.Hint, Type: x.Type, Class: x.Class, Value: strings.TrimSpace(get(name)), More: x.Rare}
		if in.Value != "" && in.Class != "" {
			in.Class += " filled"
		}
		for _, c := range x.Choices {
			in.Options = append(in.Options, option{c[0], c[1], c[0] == in.Value})
		}
		switch {
		case x.Column == "task":
			in.List = "tasks"
		case x.Column == "meter" || strings.HasSuffix(x.Column, "_ppm"):
			in.Number = true
		}
		if x.Rare {
			v.Rare = append(v.Rare, in)
		} else {
			v.Common = append(v.Common, in)
		}
	}
	for _, x := range entryFields {
		add(x, fieldEntry+x.Column)
	}
	add(entryField{Label: "Its highest count, and 1", Hint: "100000", Rare: true}, fieldFull)
	add(entryField{Label: "Time, if several share a day", Type: "time", Rare: true}, fieldTime)
	kind := cmp.Or(riglog.Kind(get(fieldEntry+"entry")), riglog.Reading)
	for _, k := range []struct {
		kind  riglog.Kind
		words string
	}{{riglog.Reading, "the meters were read"}, {riglog.Refill, "the vessel was refilled"}, {riglog.Stage, "a stage was looked after"}} {
		v.Kinds = append(v.Kinds, option{string(k.kind), k.words, k.kind == kind})
	}
	v.Late, v.Twice = get(fieldLate) != "", get(fieldTwice) != ""
	v.AskLate, v.AskTwice = v.Late, v.Twice
}

// RareFilled tells whether a folded field of the new entry is filled in.
func (v *logView) RareFilled() bool {
	return slices.ContainsFunc(v.Rare, func(in input) bool { return in.Value != "" })
}

// MoreFilled tells whether a folded field of the forecast is filled in.
func (v *logView) MoreFilled() bool {
	return v.Untreated || v.Today == "" && v.Open || v.Plan != "" || slices.ContainsFunc(v.More, func(in input) bool { return in.Value != "" })
}

// logName makes a name for a log that every system takes: that of the file
// that was opened, as far as it is plain.
func logName(s string) string {
	s = s[strings.LastIndexAny(s, `/\`)+1:]
	base, ok := strings.CutSuffix(s, ".csv")
	odd := func(r rune) bool {
		return !('a' <= r && r <= 'z' || 'A' <= r && r <= 'Z' || '0' <= r && r <= '9' || strings.ContainsRune("-_ .", r))
	}
	if !ok || base == "" || len(base) > 60 || strings.ContainsFunc(base, odd) {
		return defaultLog
	}
	return s
}

// log answers a button of the log.
func (v *view) log(ctx context.Context, f *Form) (*Response, error) {
	if err := v.takeLog(f); err != nil {
		return v.refuse(err)
	}
	today, err := riglog.ParseDate(f.get(fieldToday))
	if err != nil {
		return v.refuse(refusal("today", f.get(fieldToday), "a day such as 2026-04-03", "fill in what day it is, under What the log is held against"))
	}
	if f.do() == DoLogAdd {
		if err := v.write(f, today); err != nil {
			v.ask(err)
			return v.refuse(err)
		}
	}
	if v.Log.Text == "" {
		return v.refuse(refusal("the log", "", "a log", "write the first entry down, or open the file of your log"))
	}
	l, err := riglog.Parse("the log", []byte(v.Log.Text))
	if err != nil {
		return v.refuse(err)
	}
	if f.do() == DoLogCSV {
		if f.get(fieldEntry+"meter") != "" || f.get(fieldEntry+"task") != "" {
			return v.refuse(refusal("new entry", "an entry that is not written down yet", "an empty one", "press Write it down first, or empty its fields"))
		}
		return &Response{Type: "text/csv; charset=utf-8", Filename: v.Log.Name, Body: []byte(v.Log.Text)}, nil
	}
	b, err := v.basis(ctx, f)
	if err != nil {
		return v.refuse(err)
	}
	return v.logbook(f, l, b, today)
}

// refusal is a problem of a field of the page.
func refusal(place, found, want, remedy string) error {
	return schemas.Problems{{Field: place, Found: cmp.Or(found, "nothing"), Want: want, Remedy: remedy, Err: schemas.ErrInvalid}}
}

// takeLog takes the text of the log from the form, or from a file that was
// opened. A file does not take the place of another log unseen.
func (v *view) takeLog(f *Form) error {
	text := strings.ReplaceAll(v.Log.Text, "\r\n", "\n")
	if file := f.Files[fieldLogFile]; len(file.Body) > 0 {
		opened := strings.ReplaceAll(string(bytes.TrimPrefix(file.Body, []byte("\ufeff"))), "\r\n", "\n")
		switch {
		case !utf8.ValidString(opened):
			return refusal(file.Name, "bytes that are no text", "the CSV file of a log", "save it from the spreadsheet as CSV with commas, in UTF-8")
		case strings.TrimSpace(text) != "" && !strings.HasPrefix(opened, strings.TrimRight(text, "\n")):
			return refusal(file.Name, "a file that does not go on from the log in the page", "one log at a time",
				"save the log in the page if you need it, empty its text, and open the file again")
		}
		text = opened
		v.Log.Name = logName(file.Name)
	}
	if strings.TrimSpace(text) == "" {
		text = ""
	}
	v.Log.Text = text
	if len(text) > maxLog {
		return refusal("the log", fmt.Sprintf("%d bytes", len(text)), fmt.Sprintf("at most %d on the page", maxLog), "keep so long a log with forebed log on the command line")
	}
	return nil
}

// write puts the new entry at the end of the log.
func (v *view) write(f *Form, today riglog.Date) error {
	e, err := v.newEntry(f, today)
	if err != nil {
		return err
	}
	if v.Log.Text == "" {
		text, err := riglog.Begin(e)
		if err != nil {
			return err
		}
		e.Line, v.Log.Text = 2, string(text)
	} else {
		row, placed, err := riglog.Extend("the log", []byte(v.Log.Text), e, riglog.Confirm{OutOfOrder: v.Log.Late, Duplicate: v.Log.Twice})
		if err != nil {
			return err
		}
		e, v.Log.Text = placed, v.Log.Text+string(row)
	}
	v.Log.Said = fmt.Sprintf("Written down: %s of %s, line %d of the log.", e.Kind, e.Date, e.Line)
	v.Log.entry(func(string) string { return "" })
	return nil
}

// newEntry reads the new entry. Its day is today, its meter counts in the unit
// of the log, where nothing else is said.
func (v *view) newEntry(f *Form, today riglog.Date) (riglog.Entry, error) {
	text := map[string]string{"entry": cmp.Or(f.get(fieldEntry+"entry"), string(riglog.Reading))}
	for _, x := range entryFields {
		text[x.Column] = f.get(fieldEntry + x.Column)
	}
	text["date"] = cmp.Or(text["date"], today.Day().String())
	if clock := f.get(fieldTime); clock != "" {
		text["date"] += "T" + clock
	}
	if full := f.get(fieldFull); full != "" {
		text["meter_event"] = strings.TrimSpace(text["meter_event"] + " " + full)
	}
	if text["meter"] != "" && text["meter_unit"] == "" && v.Log.Text != "" {
		l, err := riglog.Parse("the log", []byte(v.Log.Text))
		if err != nil {
			return riglog.Entry{}, err
		}
		text["meter_unit"] = string(l.MeterUnit())
	}
	if text["meter"] == "" {
		text["meter_unit"] = "" // the unit that is chosen says nothing without a figure
	}
	e, err := riglog.EntryOf(text)
	return e, onThePage(err)
}

// onThePage says the faults of an entry by the labels of the fields.
func onThePage(err error) error {
	var ps schemas.Problems
	if !errors.As(err, &ps) {
		return err
	}
	for i := range ps {
		p := &ps[i]
		x := entryFieldOf(p.Field)
		p.File, p.Field = "new entry, "+cmp.Or(x.Label, p.Field), ""
		if x.Choices != nil && p.Found == "nothing" {
			p.Want, p.Remedy = "one of the choices", "choose one"
		}
	}
	return ps
}

// ask shows the boxes that confirm what an entry was refused for.
func (v *view) ask(err error) {
	v.Log.AskLate = v.Log.AskLate || errors.Is(err, riglog.ErrLate)
	v.Log.AskTwice = v.Log.AskTwice || errors.Is(err, riglog.ErrTwice)
}

// basis is what the log is held against: a plan document, or else the plan of
// the report in the form. It is nil where there is neither.
func (v *view) basis(ctx context.Context, f *Form) (*riglog.Basis, error) {
	b := &riglog.Basis{Untreated: v.Log.Untreated}
	if err := v.planOf(ctx, f, b); err != nil || b.Plan == nil {
		return nil, err
	}
	if pen := f.get(fieldPlanPen); pen != "" {
		ppm, err := riglog.ParsePPM(pen)
		if err != nil {
			return nil, refusal(v.Log.More[0].Label, pen, "the figure on the pen", "write digits with a decimal point")
		}
		b.FeedPPM = ppm
	}
	if job := f.get(fieldBigJob); job != "" {
		var volume rules.Volume
		if err := volume.UnmarshalText([]byte(job)); err != nil {
			return nil, refusal(v.Log.More[1].Label, job, "a volume with its unit", "write such as 30 gal or 120 L")
		}
		b.BigJob = float64(volume)
	}
	return b, nil
}

// planOf finds the plan, with the rig and the seed that belong to it.
func (v *view) planOf(ctx context.Context, f *Form, b *riglog.Basis) error {
	if file := f.Files[fieldPlanFile]; len(file.Body) > 0 {
		v.Log.Plan = string(file.Body)
	}
	input, _ := f.input()
	r, err := f.request()
	if err != nil {
		return err
	}
	b.Seed = r.Seed
	if len(bytes.TrimSpace(input)) > 0 {
		if _, err := v.read(f, r); err != nil { // its corrections stand in the page
			return err
		}
	}
	switch {
	case strings.TrimSpace(v.Log.Plan) != "":
		if f.rigStated() {
			b.Rig = &r.Rig
		}
		return schemas.Decode("plan", "the plan document", []byte(v.Log.Plan), &b.Plan)
	case len(bytes.TrimSpace(input)) > 0:
		result, err := r.Plan(ctx)
		if err != nil {
			return err
		}
		b.Plan, b.Rig = result.Plan, &r.Rig
	}
	return nil
}

// rigStated tells whether anything is said of the rig.
func (f *Form) rigStated() bool {
	return f.get(fieldRigDoc) != "" || slices.ContainsFunc(rigFields, func(x rigField) bool { return f.get(x.Name) != "" })
}

// logbook answers with what the log says: the forecast, the upkeep, the
// entries. Without a plan there are only the entries.
func (v *view) logbook(f *Form, l *riglog.Log, b *riglog.Basis, today riglog.Date) (*Response, error) {
	u := f.units()
	entries := render.Fragment(l.Blocks(u, shownLog))
	if b == nil {
		const remedy = "paste the report above, or give the plan document, for the forecast and the upkeep"
		if f.do() == DoLogICS {
			return v.refuse(refusal("the plan", "", "a plan to take the upkeep from", remedy))
		}
		v.Log.Headline, v.Log.Answer = "entries only: "+remedy+".", entries
		return v.response()
	}
	var forecast *riglog.Report
	said := render.Fragment([]render.Block{{Kind: render.Title, Text: "How much of this fill is left"},
		{Kind: render.Para, Text: "The log holds no refill yet, so nobody knows when this fill began. Write down the refill that started it: its day, and what the water meter showed then. A late entry is welcome."}})
	v.Log.Headline = "no refill in it yet, so there is no forecast."
	if l.Refilled() {
		var err error
		if forecast, err = riglog.Forecast(l, *b); err != nil {
			return v.refuse(err)
		}
		said = render.Fragment(forecast.Blocks(u))
		v.Log.Headline = forecast.Headline(u)
	}
	tasks, strays := riglog.Upkeep(l, *b, forecast)
	if f.do() == DoLogICS {
		return download("text/calendar; charset=utf-8", strings.TrimSuffix(v.Log.Name, ".csv")+".ics", func(w *bytes.Buffer) error {
			return riglog.WriteCalendar(w, v.Log.Name, tasks, today.Midnight())
		})
	}
	for _, t := range tasks {
		v.Log.Tasks = append(v.Log.Tasks, t.Task)
	}
	v.Log.Answer = said + render.Fragment(riglog.CalendarBlocks(tasks, strays, today, b.Stops())) + entries
	return v.response()
}
