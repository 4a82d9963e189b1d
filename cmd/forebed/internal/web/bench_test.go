package web_test

import (
	"io"
	"net/http"
	"net/url"
	"runtime"
	"slices"
	"sync"
	"testing"

	"github.com/chromedp/chromedp"
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
