package web_test

import (
	"context"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
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
// network for. Workers are watched from outside: what is not on loopback would
// go through a proxy, which keeps it and lets nothing through. The browser's
// own housekeeping goes that way too and is told by its hosts.
type tab struct {
	t   testing.TB
	ctx context.Context

	mu    sync.Mutex
	asked []string // addresses of requests
}

func newTab(t testing.TB) *tab {
	t.Helper()
	b := &tab{t: t}
	proxy := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.WriteHeader(http.StatusForbidden)
		host := r.URL.Hostname()
		if strings.HasSuffix(host, ".google.com") || strings.HasSuffix(host, ".googleapis.com") || strings.HasSuffix(host, ".gvt1.com") {
			return
		}
		b.mu.Lock()
		defer b.mu.Unlock()
		b.asked = append(b.asked, "by proxy: "+r.Method+" "+host)
	}))
	t.Cleanup(proxy.Close)
	options := []chromedp.ExecAllocatorOption{chromedp.ExecPath(chromium(t)), chromedp.Headless, chromedp.DisableGPU, chromedp.NoFirstRun, chromedp.NoDefaultBrowserCheck,
		chromedp.UserDataDir(t.TempDir()), chromedp.Flag("disable-quic", true), chromedp.Flag("disable-component-update", true),
		chromedp.Flag("disable-background-networking", true), chromedp.Flag("disable-sync", true), chromedp.ProxyServer(proxy.URL)}
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
	b.ctx = ctx
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

// strangers lists what was asked of other places than the origin.
func (b *tab) strangers(origin string) []string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return slices.DeleteFunc(slices.Clone(b.asked), func(a string) bool {
		return strings.HasPrefix(a, origin+"/") || strings.HasPrefix(a, "data:") || strings.HasPrefix(a, "blob:"+origin+"/")
	})
}

// staysHome fails if anything was asked of another origin.
func (b *tab) staysHome(origin string) {
	b.t.Helper()
	for _, a := range b.strangers(origin) {
		b.t.Errorf("a request left the origin: %s", a)
	}
}

// The watch sees a request of a page and of a worker.
func TestTheWatchSees(t *testing.T) {
	b := newTab(t)
	other := httptest.NewServer(http.NotFoundHandler())
	t.Cleanup(other.Close)
	b.open(other.URL)
	eval[bool](b, `fetch("http://page.test/").then(() => true, () => true)`, chromedp.EvalAwaitPromise)
	eval[bool](b, `new Promise(done => {
		const code = 'fetch("http://worker.test/").then(() => postMessage(1), () => postMessage(1))';
		new Worker(URL.createObjectURL(new Blob([code]))).onmessage = () => done(true);
	})`, chromedp.EvalAwaitPromise)
	seen := strings.Join(b.strangers(other.URL), " ")
	for _, want := range []string{"page.test", "worker.test"} {
		if !strings.Contains(seen, want) {
			t.Errorf("a request to %s was not seen: %s", want, seen)
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
	s.Config.Handler = web.Handler(day, u.Host)
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
