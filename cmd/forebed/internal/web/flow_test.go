package web_test

import (
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/browser"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"forebed/schemas"
)

// planned is true once a plan stands on the page and nothing is under way.
const planned = `document.querySelector('#plan') !== null && document.querySelector('#main.busy') === null`

// until waits for an expression to become true.
func (b *tab) until(expression string) {
	b.t.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, patience)
	defer cancel()
	_, err := chromedp.Run(ctx, chromedp.Poll[bool](expression, chromedp.WithPollingTimeout(0)))
	b.must("wait for "+expression, err)
}

// fresh waits until the status line no longer says what it said.
func (b *tab) fresh(before string) string {
	b.t.Helper()
	b.until(planned + " && document.getElementById('status').innerText !== " + quote(before))
	return b.text("#status")
}

func TestPasteCorrectTogglePlan(t *testing.T) {
	b := newTab(t)
	home := served(t)
	b.size(1200, 900)
	b.open(home + "/")
	clean(b, "the empty page")
	b.shoot("1-empty")

	b.paste("#report", report(t, "boatyard-hard-iron-well.txt"))
	b.click("button[value=read]")
	b.wait("#understood")
	clean(b, "the reading")
	b.shoot("2-read")
	if got := eval[string](b, "document.activeElement.id"); got != "answer" {
		t.Errorf("the focus is at %q, expected the answer", got)
	}

	b.click("#choice button.main")
	b.until(planned)
	first := b.text("#status")
	clean(b, "the plan")
	b.shoot("3-plan")
	if eval[bool](b, "document.getElementById('results').open") {
		t.Error("the results are still unfolded above the plan")
	}

	// The unit of sulfate was wrong: it was in milligrams, not in grams.
	row := eval[string](b, `Array.from(document.querySelectorAll('.results label')).find(l => l.textContent.startsWith('sulfate')).htmlFor`)
	b.click("#results summary")
	b.paste("#"+row, "350 mg/L")
	b.click("#choice button.main")
	second := b.fresh(first)
	if !strings.Contains(b.text("#understood"), "--set sulfate=350 mg/L") {
		t.Errorf("the correction is not shown among: %s", b.text("#understood"))
	}
	if !strings.Contains(b.text(".comes-to"), strings.TrimPrefix(first, "The plan: ")) {
		t.Errorf("the plan before is not shown beside the new one: %s", b.text(".comes-to"))
	}

	// A stage is switched on with the keyboard alone; the page plans at once
	// and the focus stays.
	b.do("focus", chromedp.Focus(chromedp.CSS("#stage-reverse_osmosis")), chromedp.KeyEvent("a"))
	third := b.fresh(second)
	if !strings.Contains(third, "reverse osmosis") {
		t.Errorf("reverse osmosis was switched on, and the plan is: %s", third)
	}
	if got := eval[string](b, "document.activeElement.id"); got != "stage-reverse_osmosis" {
		t.Errorf("after the switch the focus is at %q", got)
	}
	b.shoot("4-switched")

	// Another report is pasted over the first: the corrections are not its.
	b.paste("#report", report(t, "orchard-soft-acid-well.txt"))
	b.click("#choice button.main")
	b.fresh(third)
	if strings.Contains(b.text("#understood"), "--set sulfate") {
		t.Error("the correction of the first report is made to the second")
	}
	b.staysHome(home)
}

func TestDownloads(t *testing.T) {
	b := newTab(t)
	home := served(t)
	dir := t.TempDir()
	done := make(chan string, 8)
	b.must("listen", chromedp.ListenBrowser(b.ctx, func(event any) {
		if e, ok := event.(*browser.EventDownloadProgress); ok && e.State == browser.DownloadProgressStateCompleted {
			done <- e.GUID
		}
	}))
	_, err := chromedp.CallBrowser(b.ctx, browser.SetDownloadBehavior, browser.SetDownloadBehaviorParams{Behavior: browser.SetDownloadBehaviorBehaviorAllow, DownloadPath: dir, EventsEnabled: new(true)})
	b.must("allow downloads", err)
	b.open(home + "/")
	b.paste("#report", report(t, "orchard-soft-acid-well.txt"))
	b.click("button.main")
	b.until(planned)
	for _, d := range []struct{ button, file, holds string }{
		{"html", "plan.html", "<svg"}, {"markdown", "plan.md", "# Pretreatment plan"}, {"json", "plan.json", `"forebed.plan/1"`}, {"csv", "reading.csv", "pH"},
		{"rig", "rig.yaml", `"forebed.rig/1"`},
	} {
		b.click("button[value=" + d.button + "]")
		b.until("document.getElementById('working').innerText === 'Saved " + d.file + ".'")
		select {
		case <-done:
		case <-time.After(patience):
			t.Fatalf("%s did not come", d.file)
		}
		written, err := os.ReadFile(filepath.Join(dir, d.file))
		b.must("read the download", err)
		file := string(written)
		if !strings.Contains(file, d.holds) {
			t.Errorf("%s does not hold %q", d.file, d.holds)
		}
		if d.button == "json" {
			if err := schemas.Validate("plan", d.file, []byte(file)); err != nil {
				t.Errorf("the plan document is not valid: %v", err)
			}
		}
	}
	b.staysHome(home)

	// The plan as a file is whole without a server, and has no script.
	b.open("file://" + filepath.Join(dir, "plan.html"))
	clean(b, "the plan as a file")
	if n := eval[int](b, "document.scripts.length"); n != 0 {
		t.Errorf("the plan as a file holds %d scripts", n)
	}
}

// Without JavaScript the main way works: paste, correct, plan.
func TestWithoutScripts(t *testing.T) {
	b := newTab(t)
	home := served(t)
	b.size(360, 800)
	b.scripts(false)
	b.open(home + "/")
	b.paste("#report", report(t, "boatyard-hard-iron-well.txt"))
	b.submit("button.main")
	first := b.text("#status")
	if !strings.Contains(first, "a fill lasts") {
		t.Fatalf("no plan: %s", first)
	}
	if got := eval[string](b, "location.pathname+location.search"); got != "/" {
		t.Errorf("the address bar holds %q", got)
	}
	if wide := eval[int](b, "document.documentElement.scrollWidth"); wide > 360 {
		t.Errorf("on a phone of 360 px the page is %d px wide", wide)
	}
	b.do("choose", chromedp.SetValue(chromedp.CSS("#stage-reverse_osmosis"), "with"))
	b.submit("#choice button.main")
	if second := b.text(".comes-to"); !strings.Contains(second, "reverse osmosis") || !strings.Contains(second, "Before:") {
		t.Errorf("the stage switched on is not in the plan, or the plan before is not shown: %s", second)
	}
	b.shoot("5-without-scripts")
	b.staysHome(home)
}

// A doubt that changes the plan is refused, and settled beside the value.
func TestSettleADoubt(t *testing.T) {
	b := newTab(t)
	home := served(t)
	b.size(360, 800)
	b.open(home + "/")
	b.paste("#report", "pH 6.5\nHardness 100 mg/L\nTDS 200 mg/L\nNitrate 40 mg/L\n")
	b.click("button.main")
	b.wait(".faults")
	clean(b, "a refusal")
	b.shoot("6-doubt")
	if got := eval[string](b, "document.activeElement.id"); got != "answer" {
		t.Errorf("the focus is at %q, expected the fault", got)
	}
	label := eval[string](b, `Array.from(document.querySelectorAll('.settle input')).find(i => i.value === '--basis nitrate=N').id`)
	b.click("#" + label)
	b.click("#choice button.main")
	b.until(planned)
	if got := b.text("#understood"); !strings.Contains(got, "--basis nitrate=N") {
		t.Errorf("the settled doubt is not shown: %s", got)
	}
	b.staysHome(home)
}

// The keyboard alone takes a person from the report to the plan.
func TestKeyboardAlone(t *testing.T) {
	b := newTab(t)
	home := served(t)
	b.open(home + "/")
	b.do("type", chromedp.Focus(chromedp.CSS("#report")))
	b.do("type", chromedp.KeyEvent("pH 7.1"), chromedp.KeyEvent(kb.Enter), chromedp.KeyEvent("TDS 300 mg/L"))
	var way []string
	for range 8 {
		b.do("tab", chromedp.KeyEvent(kb.Tab))
		at := eval[string](b, "document.activeElement.id || document.activeElement.value")
		way = append(way, at)
		if outline := eval[string](b, "getComputedStyle(document.activeElement).outlineStyle"); outline == "none" {
			t.Errorf("the focus cannot be seen at %s", at)
		}
		if at == "plan" {
			break
		}
	}
	if way[len(way)-1] != "plan" {
		t.Fatalf("the key Tab leads over %v and not to the plan", way)
	}
	b.do("press", chromedp.KeyEvent(kb.Enter))
	b.until(planned)
}

// A person must choose among samples.
func TestChooseASample(t *testing.T) {
	b := newTab(t)
	home := served(t)
	b.open(home + "/")
	b.paste("#report", "sample,pH,hardness (mg/L as CaCO3),TDS (mg/L),alkalinity (mg/L as CaCO3)\nupper well,6.9,90,160,80\nlower well,7.4,310,520,260\n")
	b.click("button.main")
	b.wait("#sample")
	clean(b, "the choice of a sample")
	b.do("choose", chromedp.SetValue(chromedp.CSS("#sample"), "2"))
	b.click("button.main")
	b.until(planned)
	if got := b.text("#plan h1"); !strings.Contains(got, "lower well") {
		t.Errorf("the plan is for %q, expected the lower well", got)
	}
	b.staysHome(home)
}

// clean runs the accessibility checks of axe-core on the page as it stands.
func clean(b *tab, what string) {
	b.t.Helper()
	file := os.Getenv("FOREBED_AXE")
	if file == "" {
		b.t.Logf("FOREBED_AXE names no axe.min.js (npm package axe-core), so the accessibility of %s is not checked", what)
		return
	}
	script, err := os.ReadFile(file)
	b.must("axe-core", err)
	eval[bool](b, string(script)+"\n;typeof axe === 'object'")
	found := eval[string](b, `axe.run().then(r => JSON.stringify([r.passes.length, r.violations.map(v => v.id + ': ' + v.help + ' at ' + v.nodes.map(n => n.target.join(' ') + ' ' + (n.any[0] ? n.any[0].message : '')).slice(0, 3).join(' | '))]))`, chromedp.EvalAwaitPromise)
	var r [2]json.RawMessage
	b.must("axe-core", json.Unmarshal([]byte(found), &r))
	var passes int
	var violations []string
	b.must("axe-core", json.Unmarshal(r[0], &passes))
	b.must("axe-core", json.Unmarshal(r[1], &violations))
	if passes < 10 {
		b.t.Errorf("axe-core passed only %d checks on %s, so it did not look", passes, what)
	}
	for _, v := range violations {
		b.t.Errorf("axe-core on %s: %s", what, v)
	}
}
