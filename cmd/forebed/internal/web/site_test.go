package web_test

import (
	"context"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"forebed/cmd/forebed/internal/web"
)

// built compiles the engine once for all tests of the static site.
var built = sync.OnceValues(func() (map[string][]byte, error) {
	dir, err := os.MkdirTemp("", "forebed-site-")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	name := filepath.Join(dir, "forebed.wasm")
	compile := exec.Command("go", "build", "-trimpath", "-ldflags=-s -w", "-o", name, "forebed/cmd/forebed/internal/wasm")
	compile.Env = append(os.Environ(), "GOOS=js", "GOARCH=wasm", "GOFLAGS=")
	compile.Stderr = os.Stderr
	if err := compile.Run(); err != nil {
		return nil, err
	}
	engine, err := os.ReadFile(name)
	if err != nil {
		return nil, err
	}
	root, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		return nil, err
	}
	support, err := os.ReadFile(filepath.Join(strings.TrimSpace(string(root)), "lib", "wasm", "wasm_exec.js"))
	if err != nil {
		return nil, err
	}
	return web.Site(engine, support)
})

// hosted writes the static site to a folder and serves it as a plain file
// host does. Every answer but a file is counted by the host as a failure.
func hosted(t testing.TB) (home string, close func()) {
	t.Helper()
	files, err := built()
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	for name, body := range files {
		if err := os.WriteFile(filepath.Join(dir, name), body, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	s := httptest.NewServer(http.FileServer(http.Dir(dir)))
	t.Cleanup(s.Close)
	return s.URL, s.Close
}

// panel is the fixed set of reports on which the two engines are compared.
var panel = []string{"boatyard-hard-iron-well.txt", "marina-brackish-well.csv", "orchard-soft-acid-well.txt", "horse-trailer-strip.txt", "window-round-town-supply.csv"}

// The plan made in the browser is that of the native program, to the last
// byte of the page: every figure is rounded before it is printed, and the two
// differ at most in the last bit before that.
func TestSiteGivesTheNativePlan(t *testing.T) {
	b := newTab(t)
	home, _ := hosted(t)
	b.open(home + "/")
	clean(b, "the static site")
	for _, name := range panel {
		in := report(t, name)
		native, err := web.Page(context.Background(), &web.Form{Values: url.Values{"do": {"markdown"}, "report": {strings.ReplaceAll(in, "\n", "\r\n")}}, Static: true})
		if err != nil {
			t.Fatal(err)
		}
		if native.Filename != "plan.md" {
			t.Fatalf("%s: no plan: %.300s", name, native.Body)
		}
		got := eval[string](b, `(async () => {
			const data = new FormData();
			data.set("do", "markdown");
			data.set("report", `+"`"+in+"`"+`);
			const answer = await window.forebed(data, new AbortController().signal);
			return answer.body.text();
		})()`, chromedp.EvalAwaitPromise)
		if got != string(native.Body) {
			t.Errorf("%s: the plans differ: %s", name, firstDifference(string(native.Body), got))
		}
	}
	b.staysHome(home)
}

func firstDifference(a, b string) string {
	x, y := strings.Split(a, "\n"), strings.Split(b, "\n")
	for i := range min(len(x), len(y)) {
		if x[i] != y[i] {
			return "native: " + x[i] + "\nbrowser: " + y[i]
		}
	}
	return "one is longer"
}

// After the first visit the site works with the network cut: the host is shut
// down, the browser is told that it is offline, the page is loaded again.
func TestSiteOffline(t *testing.T) {
	b := newTab(t)
	home, shut := hosted(t)
	b.open(home + "/")
	b.until("navigator.serviceWorker.controller !== null && navigator.serviceWorker.controller.state === 'activated'")
	shut()
	_, err := chromedp.Call(b.ctx, network.OverrideNetworkState, network.OverrideNetworkStateParams{Offline: true, DownloadThroughput: -1, UploadThroughput: -1})
	b.must("cut the network", err)
	b.do("reload", chromedp.Reload())
	b.paste("#report", report(t, "orchard-soft-acid-well.txt"))
	b.click("button.main")
	b.until(planned)
	if got := b.text("#status"); !strings.Contains(got, "a fill lasts") {
		t.Errorf("offline there is no plan: %s", got)
	}
	clean(b, "the plan of the static site")
	b.shoot("7-offline")
	b.staysHome(home)
}

// Work can be cancelled, does not freeze the page, and the next press works.
func TestSiteCancel(t *testing.T) {
	b := newTab(t)
	home, _ := hosted(t)
	b.open(home + "/")
	b.paste("#report", report(t, "boatyard-hard-iron-well.txt"))
	// The page answers while the engine works: frames are drawn until the
	// button to cancel is pressed, three of them from the start.
	frames := eval[int](b, `new Promise(done => {
		document.querySelector("button.main").click();
		let frames = 0;
		(function draw() {
			if (frames++ < 3) { requestAnimationFrame(draw); return; }
			document.getElementById("cancel").click();
			done(frames);
		})();
	})`, chromedp.EvalAwaitPromise)
	if frames < 3 {
		t.Errorf("the page drew %d frames while the engine worked", frames)
	}
	b.until("document.getElementById('working').innerText === 'Cancelled.' && document.querySelector('#main.busy') === null")
	if eval[bool](b, "document.getElementById('plan') !== null") {
		t.Error("a cancelled plan stands on the page")
	}
	b.paste("#report", report(t, "orchard-soft-acid-well.txt"))
	b.click("button.main")
	b.until(planned)
	b.staysHome(home)
}

// The rig stays for the next visit when the person says so, and is gone when
// they say so.
func TestSiteKeepsTheRigOnRequest(t *testing.T) {
	b := newTab(t)
	home, _ := hosted(t)
	type step struct {
		what string
		do   func()
		want string // in the field at the next visit
	}
	for _, s := range []step{
		{"nothing said", func() { b.do("type", chromedp.SendKeys(chromedp.CSS("#rinses"), "5\t")) }, ""},
		{"kept", func() {
			b.do("type", chromedp.SendKeys(chromedp.CSS("#rinses"), "5\t"))
			b.click("#keep-rig")
		}, "5"},
		{"changed later", func() {
			b.do("type", chromedp.SendKeys(chromedp.CSS("#rinses"), kb.End+kb.Backspace+"7\t"))
		}, "7"},
		{"given up", func() { b.click("#keep-rig") }, ""},
	} {
		b.open(home + "/")
		s.do()
		b.open(home + "/")
		if got := eval[string](b, "document.getElementById('rinses').value"); got != s.want {
			t.Errorf("%s: at the next visit the field holds %q, expected %q", s.what, got, s.want)
		}
	}
	if n := eval[int](b, "localStorage.length + sessionStorage.length + document.cookie.length"); n != 0 {
		t.Errorf("the browser keeps %d things", n)
	}
}

// What a first visit loads is at most 5 MB, as the files stand.
func TestSiteWeight(t *testing.T) {
	files, err := built()
	if err != nil {
		t.Fatal(err)
	}
	total := 0
	for _, body := range files {
		total += len(body)
	}
	t.Logf("%d bytes in %d files", total, len(files))
	if total > 5_000_000 || total < 1_000_000 {
		t.Errorf("a first visit loads %d bytes, expected at most 5 MB and an engine", total)
	}
}

func TestSiteTellsOldBrowsers(t *testing.T) {
	b := newTab(t)
	home, _ := hosted(t)
	_, err := chromedp.Call(b.ctx, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: "delete globalThis.WebAssembly"})
	b.must("take WebAssembly away", err)
	b.open(home + "/")
	if got := b.text("#working"); !strings.Contains(got, "cannot run the engine") {
		t.Errorf("a browser without WebAssembly is told %q", got)
	}
}

func TestSiteFiles(t *testing.T) {
	files, err := web.Site([]byte("\x00asm-and-more"), []byte("// support"))
	if err != nil {
		t.Fatal(err)
	}
	start := string(files["index.html"])
	for _, want := range []string{"wasm-unsafe-eval", "form-action &#39;none&#39;", `src="site.js"`, "nothing is sent anywhere"} {
		if !strings.Contains(start, want) {
			t.Errorf("the page of the site lacks %q", want)
		}
	}
	for name := range files {
		if name != "offline.js" && !strings.Contains(string(files["offline.js"]), `"`+name+`"`) {
			t.Errorf("%s is not kept for offline use", name)
		}
	}
	again, err := web.Site([]byte("\x00asm-and-more"), []byte("// support"))
	if err != nil {
		t.Fatal(err)
	}
	other, err := web.Site([]byte("\x00asm-and-less"), []byte("// support"))
	if err != nil {
		t.Fatal(err)
	}
	if string(again["offline.js"]) != string(files["offline.js"]) || string(other["offline.js"]) == string(files["offline.js"]) {
		t.Error("the version of the site is not that of its contents")
	}
	if _, err := web.Site([]byte("#!/bin/sh"), nil); err == nil {
		t.Error("a shell script passed for the engine")
	}
}
