package riglog

import (
	"bytes"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/emersion/go-ical"

	"forebed/cmd/forebed/internal/render"
	"forebed/rules"
)

func upkeepPlan() *rules.Plan {
	return &rules.Plan{Stages: []rules.StagePlan{
		{Mention: rules.Mention{Kind: "sediment_filter", Title: "sediment filter, 5 µm"}, Upkeep: []rules.Task{
			{Task: "change the sediment cartridge", EveryMonths: 3, Trigger: "pressure drop up 10 psi; or brown, slow water", Source: "common practice, no source"}}},
		{Mention: rules.Mention{Kind: "softener", Title: "softener"}, Upkeep: []rules.Task{
			{Task: "carry salt", EveryMonths: 0.5}, {Task: "replace the resin", EveryMonths: 120}, {Task: "clean the brine tank", EveryMonths: 12}}},
	}}
}

const stageRows = "2026-04-10,stage,,,,,,,,sediment_filter,\"change the sediment cartridge\",\n" +
	"2026-05-31,stage,,,,,,,,softener,\"Salt\",\n" +
	"2026-06-01,stage,,,,,,,,softener,\"the\",\n" +
	"2026-06-02,stage,,,,,,,,carbon,\"replace\",\n"

func TestCalendar(t *testing.T) {
	l, err := Parse("a", []byte(header+refillRow+stageRows))
	if err != nil {
		t.Fatal(err)
	}
	tasks, strays := Calendar(upkeepPlan(), l, true)
	if town, _ := Calendar(upkeepPlan(), l, false); len(town) != len(tasks)-1 {
		t.Errorf("%d tasks on a town supply, %d on a private well", len(town), len(tasks))
	}
	got := map[string]string{}
	for i, d := range tasks {
		got[d.Task] = d.Day.String()
		if i > 0 && d.Day.Compare(tasks[i-1].Day) < 0 {
			t.Errorf("%s stands behind a later task", d.Task)
		}
	}
	for task, want := range map[string]string{
		"change the sediment cartridge": "2026-07-10", // noted on 10 April
		"carry salt":                    "2026-06-15", // noted as "Salt" on 31 May, half a month is 15 days
		"replace the resin":             "2036-04-01", // never noted: from the first entry
		"clean the brine tank":          "2027-04-01",
		wellTest.Task:                   "2027-04-01",
	} {
		if got[task] != want {
			t.Errorf("%s is due %s, want %s", task, got[task], want)
		}
	}
	if len(strays) != 2 || strays[0].Line != 5 || strays[1].Line != 6 {
		t.Errorf("strays are %+v, want lines 5 (two tasks hold the word) and 6 (no such stage)", strays)
	}
}

// Each task carries the cautions of its stage and whatever at the site calls
// for a stop, above the table, beside the task and in the calendar file.
func TestCautionsOfTasks(t *testing.T) {
	l, err := Parse("a", []byte(header+refillRow+stageRows))
	if err != nil {
		t.Fatal(err)
	}
	p := upkeepPlan()
	p.Cautions = []rules.Caution{
		{Rule: "gas", Level: "stop", At: rules.AtSite, Text: "Gas in the pit.", Remedy: "Stay out."},
		{Rule: "drunk", Level: "stop", At: rules.AtReport, Text: "Nitrate.", Remedy: "Do not drink."},
		{Rule: "shock", Level: "care", At: rules.AtSite, Text: "Bleach in the well."},
		{Rule: "brine", Level: "note", At: rules.StageScope("softener"), Text: "Brine."},
		{Rule: "pressure", Level: "care", At: rules.AtVessel, Text: "Pressure."},
	}
	b := Basis{Plan: p}
	tasks, strays := Upkeep(l, b, nil)
	tasks = append(tasks, Due{Stage: Vessel, Task: "refill"})
	tasks[len(tasks)-1].mind(p.Cautions)
	for _, d := range tasks {
		want := map[string]string{"sediment_filter": "gas", "softener": "gas brine", "well": "gas", "vessel": "gas pressure"}[string(d.Stage)]
		var got []string
		for _, c := range d.Mind {
			got = append(got, c.Rule)
		}
		if strings.Join(got, " ") != want {
			t.Errorf("%s, %s: minds %v, want %s", d.Stage, d.Task, got, want)
		}
	}
	blocks := CalendarBlocks(tasks, strays, day(t, "2026-06-03"), b.Stops())
	var items []string
	for _, x := range blocks {
		switch x.Kind {
		case render.Item:
			items = append(items, x.Text)
		case render.Table:
			for _, row := range x.Rows {
				if row[1] == "softener" && row[6] != "1, 3" || row[1] == "sediment_filter" && row[6] != "1" {
					t.Errorf("row %q", row)
				}
			}
		}
	}
	if want := []string{"1. Gas in the pit. Stay out.", "2. Nitrate. Do not drink.", "3. Brine.", "4. Pressure."}; !slices.Equal(items[:4], want) {
		t.Errorf("cautions are %q, want %q", items, want)
	}
	var out bytes.Buffer
	if err := WriteCalendar(&out, "rig.csv", tasks, time.Date(2026, 6, 3, 12, 0, 0, 0, time.UTC)); err != nil {
		t.Fatal(err)
	}
	cal, err := ical.NewDecoder(&out).Decode()
	if err != nil {
		t.Fatal(err)
	}
	for i, e := range cal.Events() {
		about, err := e.Props.Text(ical.PropDescription)
		if err != nil || !strings.Contains(about, "stop: Gas in the pit. Stay out.") || strings.Contains(about, "note: Brine.") != (tasks[i].Stage == "softener") {
			t.Errorf("%s: %q, %v", tasks[i].Task, about, err)
		}
	}
}

// The stream is read back by a general-purpose iCalendar library
// (github.com/emersion/go-ical), and its lines are held to RFC 5545 section
// 3.1 by hand.
func TestCalendarIsRFC5545(t *testing.T) {
	l, err := Parse("a", []byte(header+refillRow+stageRows))
	if err != nil {
		t.Fatal(err)
	}
	tasks, _ := Calendar(upkeepPlan(), l, true)
	long := strings.Repeat("größer; länger, \\ höher\n", 12)
	tasks = append(tasks, Due{Stage: Vessel, Title: "vessel", Task: long, Day: day(t, "2026-07-31"), Every: 2})
	var out bytes.Buffer
	stamp := time.Date(2026, 6, 3, 12, 0, 0, 0, time.UTC)
	if err := WriteCalendar(&out, "rig.csv", tasks, stamp); err != nil {
		t.Fatal(err)
	}
	for _, line := range strings.Split(strings.TrimSuffix(out.String(), "\r\n"), "\r\n") {
		if len(line) > 75 || strings.ContainsAny(line, "\r\n") || !strings.HasPrefix(line, " ") && !strings.Contains(line, ":") {
			t.Errorf("content line %q", line)
		}
		if strings.ToValidUTF8(line, "?") != line {
			t.Errorf("a character was broken in %q", line)
		}
	}
	cal, err := ical.NewDecoder(&out).Decode()
	if err != nil {
		t.Fatal(err)
	}
	events := cal.Events()
	if len(events) != len(tasks) {
		t.Fatalf("%d events, want %d", len(events), len(tasks))
	}
	seen := map[string]bool{}
	for i, e := range events {
		start, err := e.DateTimeStart(time.UTC)
		if err != nil || DayOf(start).Compare(tasks[i].Day) != 0 {
			t.Errorf("event %d starts %v, %v; want %v", i, start, err, tasks[i].Day)
		}
		summary, err := e.Props.Text(ical.PropSummary)
		if want := tasks[i].Title + ": " + tasks[i].Task; err != nil || summary != want {
			t.Errorf("summary is %q, %v; want %q", summary, err, want)
		}
		uid, err := e.Props.Text(ical.PropUID)
		if err != nil || uid == "" || seen[uid] {
			t.Errorf("identifier %q, %v", uid, err)
		}
		seen[uid] = true
		if at, err := e.Props.DateTime(ical.PropDateTimeStamp, time.UTC); err != nil || !at.Equal(stamp) {
			t.Errorf("stamp is %v, %v", at, err)
		}
		set, err := e.RecurrenceSet(time.UTC)
		if err != nil || set == nil {
			t.Fatalf("recurrence of %q: %v, %v", summary, set, err)
		}
		next := set.After(start, false)
		want := tasks[i].Day.AddMonths(tasks[i].Every)
		if days := next.Sub(want.t).Hours() / 24; days < -2 || days > 2 {
			t.Errorf("%q recurs on %v, want about %v", summary, next, want)
		}
	}
	if a, b := identifier("a", "b"), identifier("a", "b"); a != b || identifier("ab", "") == identifier("a", "b") {
		t.Error("identifiers do not follow from what they name")
	}
}
