package web_test

import (
	"context"
	"encoding/json"
	"html"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"forebed/cmd/forebed/internal/riglog"
	"forebed/cmd/forebed/internal/web"
)

// example reads a file of the invented examples.
func example(t testing.TB, name string) string {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("../../../../testdata/examples", name))
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// windows are the fields of the invented window-cleaning round: its report, its
// rig and its log.
func windows(t testing.TB) url.Values {
	t.Helper()
	return url.Values{"today": {day()}, "report": {report(t, "window-round-town-supply.csv")}, "rig_document": {example(t, "rig-windows.yaml")}, "log": {example(t, "log-windows.csv")}}
}

// press answers a button of a form, which may change fields before.
func press(t *testing.T, button string, form url.Values, changed map[string]string) *web.Response {
	t.Helper()
	all := url.Values{}
	for name, values := range form {
		all[name] = values
	}
	all.Set("do", button)
	for name, value := range changed {
		all.Set(name, value)
	}
	r, err := web.Page(context.Background(), &web.Form{Values: all})
	if err != nil {
		t.Fatalf("%s: %v", button, err)
	}
	return r
}

// textOf is the log as it stands in a page.
func textOf(t *testing.T, page []byte) string {
	t.Helper()
	_, rest, ok := strings.Cut(string(page), `name="log" rows="8" spellcheck="false" autocomplete="off" wrap="off">`+"\n")
	text, _, closed := strings.Cut(rest, "</textarea>")
	if !ok || !closed {
		t.Fatal("the page has no text of the log")
	}
	return html.UnescapeString(text)
}

// A season of an invented rig is written down on the page alone, and the log is
// the file that the command line keeps.
func TestLogOnThePage(t *testing.T) {
	form := url.Values{"today": {"2026-05-10"}, "report": {report(t, "orchard-soft-acid-well.txt")}}
	for _, c := range []struct {
		name    string
		entry   map[string]string
		says    string
		refused bool
	}{
		{"no unit", map[string]string{"entry-entry": "refill", "entry-date": "2026-04-01", "entry-meter": "0", "entry-reason": "schedule"}, "The meter counts in", true},
		{"no reason", map[string]string{"entry-entry": "refill", "entry-date": "2026-04-01", "entry-meter": "0", "entry-meter_unit": "gal"}, "Why it was refilled</strong>: found nothing; expected one of the choices", true},
		{"begin with a reading", map[string]string{"entry-date": "2026-04-01", "entry-meter": "0", "entry-meter_unit": "gal"}, "no refill yet", false},
		{"the refill, on the same day", map[string]string{"entry-entry": "refill", "entry-date": "2026-04-01", "entry-time": "08:00", "entry-meter": "0", "entry-reason": "schedule"}, "Written down: refill of 2026-04-01T08:00, line 3", false},
		{"a reading today", map[string]string{"entry-meter": "120", "entry-product_ppm": "0", "entry-silica_mg_per_l": "<0.5", "entry-note": "<b>windy</b>, \"cold\""}, "Written down: reading of 2026-05-10, line 4", false},
		{"the same again", map[string]string{"entry-meter": "120", "entry-product_ppm": "0", "entry-silica_mg_per_l": "<0.5"}, "tick below that it happened twice", true},
		{"earlier", map[string]string{"entry-date": "2026-04-20", "entry-meter": "70"}, "tick below that it is a late entry", true},
		{"earlier, confirmed", map[string]string{"entry-date": "2026-04-20", "entry-meter": "70", "entry-late": "yes"}, "line 5", false},
		{"backwards", map[string]string{"entry-meter": "20"}, "under Rarely needed", true},
		{"past the highest count", map[string]string{"entry-meter": "20", "entry-meter_event": "rollover", "entry-full": "130"}, "line 6", false},
		{"a task", map[string]string{"entry-entry": "stage", "entry-stage": "well", "entry-task": "test for coliform bacteria, nitrate, TDS and pH"}, "2027-05-10", false},
		{"a word for a number", map[string]string{"entry-meter": "about 30"}, "Water meter shows", true},
		{"a word for a test", map[string]string{"entry-meter": "30", "entry-silica_mg_per_l": "none"}, "Silica test behind it, mg/L</strong>", true},
		{"a reason of a reading", map[string]string{"entry-meter": "30", "entry-reason": "spots"}, "only a refill has a reason", true},
	} {
		r := press(t, "log-add", form, c.entry)
		page := string(r.Body)
		if r.Refused != c.refused || !strings.Contains(page, c.says) {
			t.Errorf("%s: refused %v, and the page lacks %q", c.name, r.Refused, c.says)
		}
		text := textOf(t, r.Body)
		if c.refused {
			if text != strings.ReplaceAll(form.Get("log"), "\r\n", "\n") {
				t.Errorf("%s: a refusal changed the log to\n%s", c.name, text)
			}
			for _, v := range c.entry {
				if !strings.Contains(page, `value="`+strings.ReplaceAll(v, "<", "&lt;")+`"`) {
					t.Errorf("%s: what was filled in is lost: %s", c.name, v)
				}
			}
			continue
		}
		if strings.Contains(page, "<b>") {
			t.Errorf("%s: a note became markup", c.name)
		}
		form.Set("log", strings.ReplaceAll(text, "\n", "\r\n")) // as a browser sends it
	}
	saved := press(t, "log-csv", form, nil)
	if saved.Filename != "rig-log.csv" {
		t.Fatalf("no file: %.300s", saved.Body)
	}
	l, err := riglog.Parse("rig-log.csv", saved.Body)
	if err != nil {
		t.Fatal(err)
	}
	if n := len(l.Entries); n != 6 {
		t.Errorf("%d entries in the file, expected 6:\n%s", n, saved.Body)
	}
	if r := press(t, "log-csv", form, map[string]string{"entry-meter": "40"}); !r.Refused {
		t.Error("the log was saved without the entry that stands in the form")
	}
}

// The page says of a log what the command line says of it.
func TestLogForecastOnThePage(t *testing.T) {
	form := windows(t)
	page := string(press(t, "log", form, nil).Body)
	for _, want := range []string{"Test silica now", "Fill 3, in service since 2026-03-31", "<svg", "2026-09-03", "streaks on dark frames", "Left: "} {
		if !strings.Contains(page, want) {
			t.Errorf("the page of the log lacks %q", want)
		}
	}
	// A plan document stands in for the report.
	plan := press(t, "json", form, nil)
	delete(form, "report")
	form.Set("plan_document", string(plan.Body))
	r := press(t, "log", form, nil)
	if _, left, _ := strings.Cut(string(r.Body), `<article id="left"`); !strings.Contains(page, left) || left == "" {
		t.Error("the plan document gives another forecast than the report that it was made of")
	}
	ics := press(t, "log-ics", form, map[string]string{"log_name": "round.csv"})
	if ics.Filename != "round.ics" || !strings.HasPrefix(string(ics.Body), "BEGIN:VCALENDAR\r\n") || !strings.Contains(string(ics.Body), "DTSTAMP:20260422T000000Z") {
		t.Errorf("%s: %.300s", ics.Filename, ics.Body)
	}
	for _, c := range []struct {
		name    string
		changed map[string]string
		says    string
	}{
		{"no day", map[string]string{"today": ""}, "what day it is"},
		{"no plan document", map[string]string{"plan_document": "{}"}, "the plan document"},
		{"no volume", map[string]string{"big_job": "some"}, "The next big job"},
		{"no log", map[string]string{"log": ""}, "write the first entry down"},
		{"a damaged line", map[string]string{"log": form.Get("log") + "2026-05-01,reading,2\n"}, "the log, line 16"},
		{"another table", map[string]string{"log": "date;meter\n"}, "the log, line 1"},
		{"too long", map[string]string{"log": form.Get("log") + strings.Repeat("2026-05-01,reading,28395,L,,,,,,,,\n", 10_000)}, "at most 65536"},
		{"a strange pen", map[string]string{"plan_pen": "1e400"}, "the figure on the pen"},
	} {
		r := press(t, "log", form, c.changed)
		if !r.Refused || !strings.Contains(string(r.Body), c.says) {
			t.Errorf("%s: refused %v, and the page lacks %q", c.name, r.Refused, c.says)
		}
		if strings.Contains(string(r.Body), "forebed log correct") {
			t.Errorf("%s: the page sends a person to the command line", c.name)
		}
	}
}

// A file that is opened does not take the place of another log unseen.
func TestOpenALog(t *testing.T) {
	log := example(t, "log-windows.csv")
	open := func(text, name, file string) *web.Response {
		r, err := web.Page(context.Background(), &web.Form{Values: url.Values{"do": {"log"}, "today": {day()}, "log": {text}},
			Files: map[string]web.File{"log_file": {Name: name, Body: []byte(file)}}})
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	half := strings.Join(strings.SplitAfter(log, "\n")[:5], "")
	for _, c := range []struct {
		name, text, file string
		refused          bool
	}{
		{"none before", "", log, false},
		{"the older one before", half, "\ufeff" + strings.ReplaceAll(log, "\n", "\r\n"), false},
		{"a newer one before", log, half, true},
		{"no text", "", "PK\x03\x04\xff\xfe", true},
	} {
		r := open(c.text, `C:\rigs\round.csv`, c.file)
		want := log
		if c.refused {
			want = c.text
		}
		if got := textOf(t, r.Body); r.Refused != c.refused || got != want {
			t.Errorf("%s: refused %v, and the log is\n%s", c.name, r.Refused, got)
		}
		if !c.refused && !strings.Contains(string(r.Body), `name="log_name" value="round.csv"`) {
			t.Errorf("%s: the name of the file is lost", c.name)
		}
	}
}

const showsLog = `document.querySelector('#left') !== null && document.querySelector('#main.busy') === null`

// The log by mouse and keyboard: open it, write an entry down, save it.
func TestLogInTheBrowser(t *testing.T) {
	b := newTab(t)
	home := served(t)
	b.size(1200, 900)
	b.open(home + "/")
	b.paste("#report", report(t, "window-round-town-supply.csv"))
	b.click("#document summary")
	b.paste("#rig_document", example(t, "rig-windows.yaml"))
	b.click("#logbook > summary")
	b.click("#logtext summary")
	b.paste("#log-text", example(t, "log-windows.csv"))
	b.click("button[value=log]")
	b.until(showsLog)
	clean(b, "the log")
	b.shoot("8-log")
	if got := b.text("#status"); !strings.Contains(got, "Test silica now") {
		t.Errorf("the log comes to: %s", got)
	}
	if shown := eval[bool](b, "document.getElementById('entry-reason').offsetParent !== null"); shown {
		t.Error("a reading is asked for the reason of a refill")
	}
	b.click("#kind-refill")
	b.do("choose", chromedp.SetValue(chromedp.CSS("#entry-reason"), "silica"))
	b.paste("#entry-date", "2026-04-21")
	b.do("type", chromedp.SendKeys(chromedp.CSS("#entry-meter"), "28460"+kb.Enter))
	b.until("document.getElementById('said') !== null")
	if got := b.text("#status"); !strings.HasPrefix(got, "The log: Fine") {
		t.Errorf("after the refill the log comes to: %s", got)
	}
	if got := b.text("#left"); !strings.Contains(got, "Fill 4, in service since 2026-04-21") {
		t.Errorf("the refill is not in the forecast: %.300s", got)
	}
	clean(b, "the log after an entry")
	b.size(360, 800)
	b.shoot("9-log-on-a-phone")
	if wide := eval[int](b, "document.documentElement.scrollWidth"); wide > 360 {
		t.Errorf("on a phone of 360 px the page is %d px wide", wide)
	}
	b.click("button[value=log-csv]")
	b.until("document.getElementById('working').innerText === 'Saved rig-log.csv.'")
	b.staysHome(home)
}

// Without JavaScript the log works too, and the server keeps nothing of it.
func TestLogWithoutScripts(t *testing.T) {
	b := newTab(t)
	home := served(t)
	b.size(360, 800)
	b.scripts(false)
	b.open(home + "/")
	b.click("#logbook > summary")
	b.click("#logtext summary")
	b.paste("#log-text", example(t, "log-windows.csv"))
	b.submit("button[value=log]")
	if got := b.text("#left"); !strings.Contains(got, "streaks on dark frames") {
		t.Errorf("without a report the entries are not shown: %.300s", got)
	}
	b.paste("#report", report(t, "window-round-town-supply.csv"))
	b.paste("#rig_document", example(t, "rig-windows.yaml"))
	b.paste("#entry-meter", "28460")
	b.paste("#entry-product_ppm", "1")
	b.submit("button[value=log-add]")
	if got := b.text("#said"); !strings.Contains(got, "reading of "+day()+", line 16") {
		t.Errorf("the server's day is not that of the entry: %s", got)
	}
	if got := b.text("#status"); !strings.Contains(got, "Test silica now") {
		t.Errorf("the log comes to: %s", got)
	}
	if eval[bool](b, "document.querySelector('.keep').offsetParent !== null") {
		t.Error("without scripts the page offers to keep what it cannot keep")
	}
	b.shoot("10-log-without-scripts")
	b.open(home + "/")
	if got := eval[string](b, "document.getElementById('log-text').value"); got != "" {
		t.Errorf("the server kept the log: %.60s", got)
	}
	b.staysHome(home)
}

// The browser keeps the log when the person says so and forgets it when they
// say so; what another window kept meanwhile is not written over.
func TestKeepTheLogOnRequest(t *testing.T) {
	b := newTab(t)
	home := served(t)
	text := func() string { return eval[string](b, "document.getElementById('log-text').value") }
	kept := func() string { return eval[string](b, "localStorage.getItem('forebed.log') || ''") }
	entry := func(meter string) {
		b.do("type", chromedp.SendKeys(chromedp.CSS("#entry-meter"), meter+kb.Enter))
		b.until(showsLog + " && document.getElementById('log-text').value.includes(" + quote(","+meter+",") + ")")
	}
	b.open(home + "/")
	b.click("#logbook > summary")
	b.click("#logtext summary")
	b.paste("#log-text", example(t, "log-windows.csv"))
	entry("28460")
	if kept() != "" {
		t.Error("the log is kept although nobody said so")
	}
	b.click("#keep-log")
	entry("28500")
	b.open(home + "/")
	if got := text(); !strings.Contains(got, ",28500,") || eval[bool](b, "!document.getElementById('logbook').open") {
		t.Errorf("at the next visit the log is %.2000s", got)
	}
	eval[bool](b, `localStorage.setItem('forebed.log', '{"log":"of another window"}'), true`)
	entry("28540")
	if !strings.Contains(kept(), "another window") || !strings.Contains(b.text("#working"), "Not kept") {
		t.Errorf("what another window kept is written over: %s", kept())
	}
	eval[bool](b, `localStorage.setItem('forebed.log', '{"log":'), true`) // damaged
	b.open(home + "/")
	if got := text(); got != "" || !eval[bool](b, "document.getElementById('keep-log').checked") {
		t.Errorf("of a damaged log there is %q, and it cannot be forgotten", got)
	}
	b.click("#logbook > summary")
	b.click("#keep-log")
	if kept() != "" || eval[int](b, "localStorage.length + sessionStorage.length + document.cookie.length") != 0 {
		t.Errorf("the browser still keeps %s", kept())
	}
	b.staysHome(home)
}

// The page of the log is the same bytes in the browser as in the native
// program: with a forecast, and with fills so short that they contradict the
// plan.
func TestSiteGivesTheNativeLog(t *testing.T) {
	b := newTab(t)
	home, _ := hosted(t)
	b.open(home + "/")
	short := "date,entry,meter,meter_unit,meter_event,feed_ppm,product_ppm,silica_mg_per_l,reason,stage,task,note\n" +
		"2025-04-01,refill,0,gal,,300,,,schedule,,,\n2025-05-01,refill,100,gal,,300,9,,spots,,,\n2025-06-01,refill,190,gal,,300,11,,meter,,,\n2025-06-20,reading,240,gal,,310,0,,,,,\n"
	for _, form := range []url.Values{windows(t), {"today": {day()}, "report": {report(t, "boatyard-hard-iron-well.txt")}, "log": {short}}} {
		for _, button := range []string{"log", "log-ics"} {
			fields := url.Values{"do": {button}}
			for name, values := range form {
				fields[name] = []string{strings.ReplaceAll(values[0], "\n", "\r\n")}
			}
			native, err := web.Page(context.Background(), &web.Form{Values: fields, Static: true})
			if err != nil || native.Refused {
				t.Fatalf("%s: %v %.300s", button, err, native.Body)
			}
			sent, err := json.Marshal(fields)
			if err != nil {
				t.Fatal(err)
			}
			got := eval[string](b, `(async () => {
				const data = new FormData();
				for (const [name, values] of Object.entries(`+string(sent)+`)) { data.set(name, values[0]); }
				const answer = await window.forebed(data, new AbortController().signal);
				return answer.body.text();
			})()`, chromedp.EvalAwaitPromise)
			if got != string(native.Body) {
				t.Errorf("%s: the answers differ: %s", button, firstDifference(string(native.Body), got))
			}
			if button == "log" && form.Get("log") == short && !strings.Contains(got, "The log contradicts the plan") {
				t.Error("the contradiction is not on the page")
			}
		}
	}
	b.staysHome(home)
}
