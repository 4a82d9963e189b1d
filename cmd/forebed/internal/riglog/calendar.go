package riglog

import (
	"bufio"
	"cmp"
	"crypto/sha1"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"forebed/chem/process"
	"forebed/cmd/forebed/internal/render"
	"forebed/rules"
)

// Due is one recurring task and when it falls due next.
type Due struct {
	Stage   process.Kind
	Title   string // of the stage
	Task    string
	Every   float64 // months; 0 for what is due once
	Trigger string  // what brings it forward
	Last    *Entry  // when it was done; nil if never noted
	Day     Date
	Source  string
	Mind    []rules.Caution // what the work can do to who does it, the strongest first
}

// wellTest is what no stage of a plan asks for, and every private well needs.
var wellTest = Due{
	Stage: Well, Title: "well", Task: "test for coliform bacteria, nitrate, TDS and pH", Every: 12,
	Trigger: "flood, repair, or a change of taste or colour",
	Source:  "CDC and EPA advice to private well owners: once a year (standards ledger G-TEST-FREQ, G-EPA-ANNUAL)",
}

// refillTopics are the notes of a plan that whoever refills a vessel needs, beside
// what is more than a note.
var refillTopics = []string{"resin_handling", "media_disposal", "home_regeneration"}

// mind gives a task the cautions of the plan that it meets: those about its
// stage, and whatever at the site calls for a stop.
func (t *Due) mind(all []rules.Caution) {
	note, stop := string(rules.StrengthNote), string(rules.StrengthStop)
	for _, c := range all {
		mine := false
		switch c.At {
		case rules.AtSite:
			mine = c.Level == stop
		case rules.AtVessel:
			mine = t.Stage == Vessel && (c.Level != note || slices.Contains(refillTopics, c.Topic))
		case "stage", rules.StageScope(t.Stage):
			mine = t.Stage != Vessel && t.Stage != Well
		}
		if mine {
			t.Mind = append(t.Mind, c)
		}
	}
}

// Calendar returns the tasks of a plan by the day they fall due, and the
// stage entries of the log that fit none of them. A task that was never noted
// counts from the first entry of the log. A private well has a yearly test of
// its own.
func Calendar(p *rules.Plan, l *Log, privateWell bool) (tasks []Due, strays []Entry) {
	for _, s := range p.Stages {
		for _, u := range s.Upkeep {
			if u.EveryMonths > 0 {
				tasks = append(tasks, Due{Stage: s.Kind, Title: s.Title, Task: u.Task, Every: u.EveryMonths, Trigger: u.Trigger, Source: u.Source})
			}
		}
	}
	if privateWell {
		tasks = append(tasks, wellTest)
	}
	entries := l.ByDate()
	for i := range entries {
		e := &entries[i]
		if e.Kind != Stage {
			continue
		}
		if t := match(tasks, e); t != nil {
			t.Last = e
		} else {
			strays = append(strays, *e)
		}
	}
	for i := range tasks {
		t := &tasks[i]
		switch {
		case t.Last != nil:
			t.Day = t.Last.Date.AddMonths(t.Every)
		case len(entries) > 0:
			t.Day = entries[0].Date.AddMonths(t.Every)
		}
	}
	return ByDay(tasks), strays
}

// Upkeep is the calendar of a rig: the tasks of the plan's stages and, where
// there is a forecast, the next refill. r is nil where there is none.
func Upkeep(l *Log, b Basis, r *Report) (tasks []Due, strays []Entry) {
	tasks, strays = Calendar(b.Plan, l, b.Rig == nil || b.Rig.Site.PrivateWell)
	if r != nil {
		if due, ok := r.RefillDue(); ok {
			tasks = ByDay(append(tasks, due))
		}
	}
	for i := range tasks {
		tasks[i].mind(b.Plan.Cautions)
	}
	return tasks, strays
}

// ByDay returns tasks in the order in which they fall due.
func ByDay(tasks []Due) []Due {
	return slices.SortedStableFunc(slices.Values(tasks), func(a, b Due) int {
		return cmp.Or(a.Day.Compare(b.Day), cmp.Compare(a.Stage, b.Stage), cmp.Compare(a.Task, b.Task))
	})
}

// match finds the task that an entry means: the one with its very words, else
// the only one of its stage that holds them.
func match(tasks []Due, e *Entry) *Due {
	plain := func(s string) string { return strings.Join(strings.Fields(strings.ToLower(s)), " ") }
	said := plain(e.Task)
	var found *Due
	for i := range tasks {
		t := &tasks[i]
		if t.Stage != e.Stage {
			continue
		}
		switch task := plain(t.Task); {
		case task == said:
			return t
		case strings.Contains(task, said) || strings.Contains(said, task):
			if found != nil {
				return nil
			}
			found = t
		}
	}
	return found
}

// CalendarBlocks composes tasks as a table, with numbers of the cautions of the
// work: the stop cautions of the plan stand above it, the others behind. Days
// before today are marked.
func CalendarBlocks(tasks []Due, strays []Entry, today Date, stops []rules.Caution) []render.Block {
	table := render.Block{Kind: render.Table, Head: []string{"Due", "Stage", "Task", "Every", "Last done", "Sooner", "Mind"}}
	mind := slices.Clone(stops)
	for _, t := range tasks {
		var numbers []string
		for _, c := range t.Mind {
			n := slices.IndexFunc(mind, func(x rules.Caution) bool { return x.Rule == c.Rule })
			if n < 0 {
				n, mind = len(mind), append(mind, c)
			}
			numbers = append(numbers, strconv.Itoa(n+1))
		}
		last := "never noted"
		switch {
		case t.Last != nil:
			last = t.Last.Date.Day().String()
		case t.Every == 0:
			last = ""
		}
		day := t.Day.String()
		if t.Day.Compare(today) < 0 {
			day += " overdue"
		}
		table.Rows = append(table.Rows, []string{day, string(t.Stage), t.Task, every(t.Every), last, t.Trigger, strings.Join(numbers, ", ")})
	}
	blocks := []render.Block{
		{Kind: render.Title, Text: "Upkeep of this rig"},
		{Kind: render.Lead, Text: "A task that was never noted counts from the first entry of the log. What stands under Sooner goes before the date. Read the cautions whose numbers stand under Mind before you begin."},
	}
	if len(stops) > 0 {
		blocks = append(blocks, render.Block{Kind: render.Heading, Text: "Stop: settle this first"})
		blocks = append(blocks, numberedCautions(mind[:len(stops)], 1)...)
		blocks = append(blocks, render.Block{Kind: render.Heading, Text: "What falls due"})
	}
	blocks = append(blocks, table)
	if len(mind) > len(stops) {
		blocks = append(blocks, render.Block{Kind: render.Heading, Text: "Before you begin"})
		blocks = append(blocks, numberedCautions(mind[len(stops):], len(stops)+1)...)
	}
	for _, e := range strays {
		blocks = append(blocks, render.Block{Kind: render.Item, Text: fmt.Sprintf("Line %d fits no task of the plan: %s: %s", e.Line, e.Stage, e.Task)})
	}
	return blocks
}

// numberedCautions composes cautions with their numbers.
func numberedCautions(all []rules.Caution, from int) (blocks []render.Block) {
	for i, c := range all {
		blocks = append(blocks, render.Block{Kind: render.Item, Tone: render.Tone(c.Level), Text: fmt.Sprintf("%d. %s", from+i, cautionText(&c))})
	}
	return blocks
}

func every(months float64) string {
	switch {
	case months == 0:
		return "once"
	case months == 1:
		return "month"
	case months < 1.5 && months != 1:
		return fmt.Sprintf("%.0f days", months*30.44)
	case months >= 24 && math.Mod(months, 12) == 0:
		return fmt.Sprintf("%.0f years", months/12)
	}
	return fmt.Sprintf("%.3g months", months)
}

// WriteCalendar writes tasks as an iCalendar stream (RFC 5545): one all-day
// event a task, repeated by its interval. name tells this rig from others: with
// the stage and the task it makes the identifier of an event, so that a later
// export replaces an earlier one. stamp is the moment of the export.
func WriteCalendar(w io.Writer, name string, tasks []Due, stamp time.Time) error {
	b := bufio.NewWriter(w)
	line := func(property, value string) { fold(b, property+":"+value) }
	line("BEGIN", "VCALENDAR")
	line("VERSION", "2.0")
	line("PRODID", "-//forebed//upkeep of a rig//EN")
	line("CALSCALE", "GREGORIAN")
	for _, t := range tasks {
		line("BEGIN", "VEVENT")
		line("UID", identifier(name, string(t.Stage), t.Task))
		line("DTSTAMP", stamp.UTC().Format("20060102T150405Z"))
		line("DTSTART;VALUE=DATE", t.Day.t.Format("20060102"))
		if t.Every > 0 {
			line("RRULE", recurrence(t.Every, t.Day))
		}
		line("SUMMARY", escape(t.Title+": "+t.Task))
		var about []string
		if t.Trigger != "" {
			about = append(about, "sooner: "+t.Trigger)
		}
		if t.Last != nil {
			about = append(about, "last done "+t.Last.Date.Day().String())
		} else if t.Every > 0 {
			about = append(about, "never noted in the log")
		}
		if t.Source != "" {
			about = append(about, "interval: "+t.Source)
		}
		for _, c := range t.Mind {
			about = append(about, c.Level+": "+cautionText(&c))
		}
		line("DESCRIPTION", escape(strings.Join(about, "\n")))
		line("TRANSP", "TRANSPARENT")
		line("END", "VEVENT")
	}
	line("END", "VCALENDAR")
	return b.Flush()
}

// recurrence repeats by the month where that meets a day in every month, else
// by the day.
func recurrence(months float64, day Date) string {
	if months == math.Trunc(months) && day.t.Day() <= 28 {
		return fmt.Sprintf("FREQ=MONTHLY;INTERVAL=%.0f", months)
	}
	return fmt.Sprintf("FREQ=DAILY;INTERVAL=%.0f", max(1, math.Round(months*30.44)))
}

// identifier is a name-based UUID (RFC 4122, version 5), which RFC 7986 asks
// for in a UID.
func identifier(parts ...string) string {
	s := sha1.Sum([]byte("forebed\x00" + strings.Join(parts, "\x00")))
	s[6], s[8] = s[6]&0x0f|0x50, s[8]&0x3f|0x80
	return fmt.Sprintf("%x-%x-%x-%x-%x", s[0:4], s[4:6], s[6:8], s[8:10], s[10:16])
}

// escape writes text as RFC 5545 section 3.3.11 asks.
func escape(s string) string {
	return strings.NewReplacer(`\`, `\\`, ";", `\;`, ",", `\,`, "\r\n", `\n`, "\n", `\n`, "\r", `\n`).Replace(s)
}

// lineOctets is the longest content line of RFC 5545 section 3.1, its end left
// out.
const lineOctets = 75

// fold writes a content line, broken before an octet too many and never within
// a character.
func fold(w *bufio.Writer, line string) {
	room := lineOctets
	for len(line) > room {
		cut := room
		for !utf8.RuneStart(line[cut]) {
			cut--
		}
		w.WriteString(line[:cut] + "\r\n ")
		line = line[cut:]
		room = lineOctets - 1 // the blank that marks a folded line
	}
	w.WriteString(line + "\r\n")
}
