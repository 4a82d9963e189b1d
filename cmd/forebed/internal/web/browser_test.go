package web_test

import (
	"context"
	"net/http/httptest"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"

	"forebed/cmd/forebed/internal/web"
)

// patience is how long a step of a browser may take on a slow machine.
const patience = 90 * time.Second

// chromium finds the browser, or leaves the test out.
func chromium(t testing.TB) string {
	t.Helper()
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	t.Skip("no Chromium on this machine, so this browser test is left out; install the package chromium to run it")
	return ""
}

// tab is one tab of a fresh headless browser. It keeps what the page asked the
// network for.
type tab struct {
	t   testing.TB
	ctx context.Context

	mu    sync.Mutex
	asked []string // addresses of requests
}

func newTab(t testing.TB) *tab {
	t.Helper()
	options := []chromedp.ExecAllocatorOption{chromedp.ExecPath(chromium(t)), chromedp.Headless, chromedp.DisableGPU, chromedp.NoFirstRun, chromedp.NoDefaultBrowserCheck,
		chromedp.UserDataDir(t.TempDir()), chromedp.Flag("disable-quic", true), chromedp.Flag("disable-component-update", true),
		chromedp.Flag("disable-background-networking", true), chromedp.Flag("disable-sync", true)}
	if os.Geteuid() == 0 {
		options = append(options, chromedp.NoSandbox) // Chromium refuses its sandbox to root
	}
	ctx, cancel := chromedp.NewExecAllocator(context.Background(), options...)
	t.Cleanup(cancel)
	ctx, stop := chromedp.NewContext(ctx)
	t.Cleanup(func() {
		if err := chromedp.Cancel(ctx); err != nil {
			t.Logf("closing the browser: %v", err)
		}
		stop()
	})
	b := &tab{t: t, ctx: ctx}
	b.must("start", chromedp.Listen(ctx, b.hear))
	_, err := chromedp.Call(ctx, network.Enable, network.EnableParams{})
	b.must("watch the network", err)
	return b
}

func (b *tab) hear(event any) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if e, ok := event.(*network.EventRequestWillBeSent); ok {
		b.asked = append(b.asked, e.Request.URL)
	}
}

func (b *tab) must(what string, err error) {
	b.t.Helper()
	if err != nil {
		b.t.Fatalf("%s: %v", what, err)
	}
}

// do runs steps within the patience of a test.
func (b *tab) do(what string, steps ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, patience)
	defer cancel()
	b.must(what, chromedp.Do(ctx, steps...))
}

// eval returns what an expression gives.
func eval[T any](b *tab, expression string, options ...chromedp.EvaluateOption) T {
	b.t.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, patience)
	defer cancel()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](expression, options...))
	b.must(expression, err)
	return v
}

func (b *tab) open(address string) { b.t.Helper(); b.do("open", chromedp.Navigate(address)) }

func (b *tab) click(selector string) {
	b.t.Helper()
	b.do("click "+selector, chromedp.Click(chromedp.CSS(selector)))
}

// submit clicks and waits for the page that the server answers with.
func (b *tab) submit(selector string) {
	b.t.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, patience)
	defer cancel()
	_, err := chromedp.RunResponse(ctx, chromedp.Click(chromedp.CSS(selector)))
	b.must("submit with "+selector, err)
}

func (b *tab) wait(selector string) {
	b.t.Helper()
	b.do("wait for "+selector, chromedp.WaitVisible(chromedp.CSS(selector)))
}

func (b *tab) text(selector string) string {
	b.t.Helper()
	return eval[string](b, "document.querySelector("+quote(selector)+").innerText")
}

// paste puts text into a field the way the clipboard does: at once.
func (b *tab) paste(selector, text string) {
	b.t.Helper()
	b.do("paste into "+selector, chromedp.SetValue(chromedp.CSS(selector), text))
}

func (b *tab) scripts(on bool) {
	b.t.Helper()
	_, err := chromedp.Call(b.ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: !on})
	b.must("switch scripts", err)
}

func (b *tab) size(width, height int64) {
	b.t.Helper()
	b.do("size", chromedp.EmulateViewport(width, height))
}

// shoot keeps a picture of the whole page when FOREBED_SHOTS names a folder.
func (b *tab) shoot(name string) {
	b.t.Helper()
	dir := os.Getenv("FOREBED_SHOTS")
	if dir == "" {
		return
	}
	png, err := chromedp.Run(b.ctx, chromedp.FullScreenshot(100))
	b.must("screenshot", err)
	b.must("screenshot", os.WriteFile(filepath.Join(dir, name+".png"), png, 0o644))
}

// staysHome fails if the page asked anything of another origin.
func (b *tab) staysHome(origin string) {
	b.t.Helper()
	b.mu.Lock()
	defer b.mu.Unlock()
	if len(b.asked) == 0 {
		b.t.Error("no request was seen, so the watch is broken")
	}
	for _, a := range b.asked {
		if !strings.HasPrefix(a, origin+"/") && !strings.HasPrefix(a, "data:") && !strings.HasPrefix(a, "blob:"+origin+"/") {
			b.t.Errorf("a request left the origin: %s", a)
		}
	}
}

func quote(s string) string { return "'" + strings.ReplaceAll(s, "'", `\'`) + "'" }

// served starts the page on a loopback port.
func served(t testing.TB) string {
	t.Helper()
	s := httptest.NewUnstartedServer(nil)
	u, err := url.Parse("http://" + s.Listener.Addr().String())
	if err != nil {
		t.Fatal(err)
	}
	s.Config.Handler = web.Handler(u.Host)
	s.Start()
	t.Cleanup(s.Close)
	return s.URL
}

// report reads an invented report.
func report(t testing.TB, name string) string {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("../../../../testdata/reports", name))
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}
