package web_test

import (
	"context"
	"io"
	"net/http"
	"net/url"
	"runtime"
	"slices"
	"sync"
	"testing"

	"github.com/chromedp/chromedp"

	"forebed/cmd/forebed/internal/web"
)

// BenchmarkFirstPaint measures, inside the browser, the time from the press of
// the button to the first frame that shows the plan: on loopback, with all
// draws, pictures included. Run it on a quiet machine:
//
//	go test ./cmd/forebed/internal/web -run '^$' -bench FirstPaint -benchtime 100x
func BenchmarkFirstPaint(b *testing.B) {
	for _, name := range []string{"orchard-soft-acid-well.txt", "campsite-european.txt", "boatyard-hard-iron-well.txt"} {
		b.Run(name, func(b *testing.B) {
			page := newTab(b)
			home, in := served(b), report(b, name)
			var all []float64
			b.ReportAllocs()
			for b.Loop() {
				page.open(home + "/")
				page.paste("#report", in)
				all = append(all, eval[float64](page, `new Promise(done => {
					const from = performance.now();
					document.querySelector("button.main").click();
					(function look() {
						if (document.getElementById("plan")) {
							requestAnimationFrame(() => { const c = new MessageChannel(); c.port1.onmessage = () => done(performance.now() - from); c.port2.postMessage(0); });
						} else { requestAnimationFrame(look); }
					})();
				})`, chromedp.EvalAwaitPromise))
			}
			slices.Sort(all)
			b.ReportMetric(all[len(all)/2], "ms-P50")
			b.ReportMetric(all[len(all)*95/100], "ms-P95")
		})
	}
}

// BenchmarkFiftyPlans measures fifty people who ask for a plan at once, and
// the memory that the process took from the system for its heap at most.
//
//	go test ./cmd/forebed/internal/web -run '^$' -bench FiftyPlans -benchtime 1x
func BenchmarkFiftyPlans(b *testing.B) {
	home, in := served(b), report(b, "orchard-soft-acid-well.txt")
	b.ReportAllocs()
	for b.Loop() {
		var all sync.WaitGroup
		for range 50 {
			all.Go(func() {
				r, err := http.PostForm(home+"/", url.Values{"do": {"plan"}, "report": {in}})
				if err != nil {
					b.Error(err)
					return
				}
				defer r.Body.Close()
				if _, err := io.Copy(io.Discard, r.Body); err != nil || r.StatusCode != http.StatusOK {
					b.Errorf("status %d, %v", r.StatusCode, err)
				}
			})
		}
		all.Wait()
	}
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	b.ReportMetric(float64(m.HeapSys)/(1<<20), "MiB-heap")
}

// BenchmarkSite measures the static site: the time from a cold start (a fresh
// browser with nothing kept) to the first plan, then plans in a row in the
// same worker, beside the native program on one core. Memory is that of the
// engine after all of them, which WebAssembly never gives back.
//
//	go test ./cmd/forebed/internal/web -run '^$' -bench Site -benchtime 10x
func BenchmarkSite(b *testing.B) {
	const name = "orchard-soft-acid-well.txt"
	in := report(b, name)
	home, _ := hosted(b)
	form := func() *web.Form { return &web.Form{Values: url.Values{"do": {"plan"}, "report": {in}}} }
	b.Run("native", func(b *testing.B) {
		defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
		b.ReportAllocs()
		for b.Loop() {
			if _, err := web.Page(context.Background(), form()); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("cold", func(b *testing.B) {
		var all []float64
		b.ReportAllocs()
		for b.Loop() {
			page := newTab(b)
			page.open(home + "/")
			from := eval[float64](page, `performance.timeOrigin`) // when the browser set out for the page
			page.paste("#report", in)
			page.click("button.main")
			page.until(planned)
			all = append(all, eval[float64](page, `performance.timeOrigin + performance.now()`)-from)
		}
		slices.Sort(all)
		b.ReportMetric(all[len(all)/2], "ms-P50")
	})
	b.Run("next", func(b *testing.B) {
		page := newTab(b)
		page.open(home + "/")
		plan := "(async () => { const d = new FormData(); d.set('do', 'plan'); d.set('report', `" + in + "`); const from = performance.now(); await window.forebed(d, new AbortController().signal); return performance.now() - from; })()"
		eval[float64](page, plan, chromedp.EvalAwaitPromise) // the cold one
		var all []float64
		b.ReportAllocs()
		for b.Loop() {
			all = append(all, eval[float64](page, plan, chromedp.EvalAwaitPromise))
		}
		slices.Sort(all)
		b.ReportMetric(all[len(all)/2], "ms-P50")
		b.ReportMetric(eval[float64](page, "Number(document.documentElement.dataset.memory) / (1 << 20)"), "MiB")
	})
}
