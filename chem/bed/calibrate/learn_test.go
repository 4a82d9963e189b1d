package calibrate

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"forebed/chem/unit"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %.6g, want %.6g within %.2g", what, got, want, tol)
	}
}

// A five-point rule is exact for polynomials up to the ninth degree; the
// moments of a standard normal are 1, 0, 1, 0, 3, 0, 15, 0, 105.
func TestNodes(t *testing.T) {
	for power, want := range []float64{1, 0, 1, 0, 3, 0, 15, 0, 105, 0} {
		var sum float64
		for i, x := range nodes {
			sum += weights[i] * math.Pow(x, float64(power))
		}
		near(t, "moment", sum, want, 1e-9)
	}
}

func TestFromBand(t *testing.T) {
	got := bandOf(FromBand(Band{800, 1000, 1500}, 2000))
	near(t, "P10", got.P10, 800, 1)
	near(t, "P50", got.P50, 1000, 1)
	near(t, "P90", got.P90, 1500, 1)
}

// With one reading a Gaussian process has the mean k y/(k0+n) and the variance
// k0 - k^2/(k0+n) (Rasmussen and Williams, Gaussian Processes for Machine
// Learning, 2006, equations 2.25 and 2.26).
func TestFeedOfOneReading(t *testing.T) {
	const day, ppm, reference, later = 100.0, 230.0, 200.0, 160.0
	f := newFeed([]reading{{day, ppm}}, reference, 0, 400, 4000, rand.New(rand.NewPCG(1, 1)))
	noise := penSpread + penRound/ppm
	off := math.Hypot(pensApart, penOffset/reference)
	k0 := covariance(day, day, 0) + off*off + noise*noise
	k := covariance(day, later, 0)
	at := make([]float64, len(f.paths))
	for i, p := range f.paths {
		at[i] = f.at(p, later)
	}
	var m, ss float64
	for _, x := range at {
		m += x / float64(len(at))
	}
	for _, x := range at {
		ss += (x - m) * (x - m) / float64(len(at))
	}
	near(t, "mean", f.at(f.mean, later), k*math.Log(ppm/reference)/k0, 0.002)
	near(t, "mean of the paths", m, f.at(f.mean, later), 0.006)
	near(t, "spread of the paths", math.Sqrt(ss), math.Sqrt(covariance(later, later, 0)-k*k/k0), 0.006)
}

// What is not measured stays as wide as it was, what is measured is followed.
func TestFeedFollowsReadings(t *testing.T) {
	var rs []reading
	for d := 0.0; d < 300; d += 7 {
		rs = append(rs, reading{d, 200 * (1 + 0.15*d/300)})
	}
	f := newFeed(rs, 200, 0, 300, 10, rand.New(rand.NewPCG(1, 1)))
	near(t, "at the end", math.Exp(f.at(f.mean, 295)), 1.15, 0.025)
	near(t, "at the beginning", math.Exp(f.at(f.mean, 5)), 1.0, 0.025)
	g := newFeed(append(slices.Clone(rs), reading{150.5, 2000}), 200, 0, 300, 10, rand.New(rand.NewPCG(1, 1)))
	near(t, "beside a slip of ten times", g.at(g.mean, 200), f.at(f.mean, 200), 0.02)
	none := newFeed(nil, 200, 0, 300, 2000, rand.New(rand.NewPCG(1, 1)))
	var ss float64
	for _, p := range none.paths {
		ss += p[0] * p[0] / float64(len(none.paths))
	}
	near(t, "spread without readings", math.Sqrt(ss), math.Sqrt(covariance(0, 0, 0)), 0.01)
}

func TestCholesky(t *testing.T) {
	a := [][]float64{{4}, {2, 5}, {-1, 3, 9}}
	l := newMatrix(3)
	for i := range a {
		copy(l[i], a[i])
	}
	cholesky(l)
	for i := range a {
		for j := range a[i] {
			near(t, "L L'", dot(l[i][:j+1], l[j]), a[i][j], 1e-12)
		}
	}
	x := solveUpper(l, solveLower(l, []float64{1, 2, 3}))
	for i := range a {
		var sum float64
		for j := range a {
			sum += a[max(i, j)][min(i, j)] * x[j]
		}
		near(t, "A x", sum, float64(i+1), 1e-12)
	}
}

// The laws of the observations are laws: their probabilities sum to one.
func TestLaws(t *testing.T) {
	for _, c := range []struct{ pen, offset float64 }{{0, 0}, {0, -2}, {0, 1.5}, {10, 2}, {40, -1}} {
		sum := penLaw(0, c.pen, c.offset, 300)
		for x := 0.5; x < 310; x += 0.01 {
			sum += 0.01 * penLaw(x, c.pen, c.offset, 300)
		}
		near(t, "pen", sum, 1, 0.01)
	}
	for _, silica := range []float64{0, 0.5, 8} {
		var sum float64 // over ln(shown + testFloor)
		for x := math.Log(testFloor) - 4; x < 6; x += 0.01 {
			sum += 0.01 * (silicaLaw(math.Exp(x)-testFloor, false, silica) - badTests/testRange)
		}
		near(t, "silica", sum, 1-badTests, 0.01)
	}
	var sum float64
	for x := -4.0; x < 4; x += 0.0005 {
		sum += 0.0005 * (spotsLaw(math.Exp(x)) - 1e-4)
		near(t, "unseen", unseen(math.Exp(x+0.00025)), 1-sum, 0.01)
	}
	near(t, "spots", sum, 1, 0.01)
}

// plainPrior is a plan of 1000 L with a shape of a usual well.
func plainPrior(p10, p90 float64) Prior {
	return Prior{
		Lives: FromBand(Band{p10, 1000, p90}, 400), Known: true,
		Shape: Shape{Anion: 1.07, Carbon: 1.1, Cation: 1.6, AnionUnits: 60, CationUnits: 40, Feed: 300, Carbonic: 10, Band: 100, Solids: 300},
	}
}

// The draws are held to plain integration over a grid, where that can be done:
// one fill that ended by spots, and one that has just begun.
func TestDrawsAgainstGrid(t *testing.T) {
	p := plainPrior(800, 1250)
	var feeds []Observation
	for d := 0.0; d < 100; d += 10 {
		feeds = append(feeds, Observation{Day: d, Used: unit.Litres(7 * d), Feed: 300, Product: math.NaN(), Silica: math.NaN()})
	}
	fills := []Fill{{Start: 0, Seen: feeds, Day: 100, Used: 700, End: BySpots}, {Start: 100, Day: 100, End: InService}}
	m, err := Learn(p, fills, 100, 3)
	if err != nil {
		t.Fatal(err)
	}
	var sum, mean, square float64
	ended := &m.lived[0]
	for a := -4.0; a <= 4; a += 0.05 {
		for b := -4.0; b <= 4; b += 0.05 {
			z := draw{a, b}
			lnu := math.Log(m.stateOf(&z).usable)
			var l float64
			for e := -4.0; e <= 4; e += 0.25 {
				l += math.Exp(-e*e/2) * spotsLaw(ended.x/math.Exp(lnu+ended.spread*e))
			}
			w := l * math.Exp(-(a*a+b*b)/2)
			sum += w
			mean += w * lnu
			square += w * lnu * lnu
		}
	}
	mean /= sum
	sd := math.Sqrt(square/sum - mean*mean)
	var got, ss float64
	for _, s := range m.states {
		got += math.Log(s.usable) / float64(len(m.states))
	}
	for _, s := range m.states {
		d := math.Log(s.usable) - got
		ss += d * d / float64(len(m.states))
	}
	near(t, "mean of ln u", got, mean, 0.008)
	near(t, "spread of ln u", math.Sqrt(ss), sd, 0.008)
	if mean > -0.2 || sd > 0.12 {
		t.Errorf("ln u is %.3f with a spread of %.3f after a fill of 0.7 of the plan", mean, sd)
	}
}

// What is seen moves the forecast the way it should.
func TestDirections(t *testing.T) {
	p := plainPrior(800, 1250)
	nan := math.NaN()
	look := func(used, product, silica float64, below bool) Band {
		fill := Fill{Start: 0, Day: 60, Used: unit.Litres(used), Seen: []Observation{
			{Day: 5, Used: 50, Feed: 300, Product: 0, Silica: nan},
			{Day: 60, Used: unit.Litres(used), Feed: 300, Product: product, Silica: silica, Below: below},
		}}
		m, err := Learn(p, []Fill{fill}, 700, 1)
		if err != nil {
			t.Fatal(err)
		}
		h := Habit{}
		for i := range h {
			h[i] = 10
		}
		return m.Forecast(h, 700, 1).Life
	}
	nothing := look(700, nan, nan, false)
	clean := look(1000, 0, 0.5, true)
	silica := look(700, 0, 4, false)
	risen := look(700, 9, nan, false)
	if !(silica.P50 < 0.85*nothing.P50 && risen.P50 < 0.8*nothing.P50 && clean.P50 > 1.03*nothing.P50) {
		t.Errorf("life %v; silica at 700 L %v; the pen up at 700 L %v; clean at 1000 L %v", nothing, silica, risen, clean)
	}
	if w, n := clean.P90-clean.P10, nothing.P90-nothing.P10; w > n {
		t.Errorf("a clean test at 1000 L widened the band from %.0f to %.0f", n, w)
	}
}

// Whatever a log holds, the answer is finite, its bands rise, and the fill has
// used what it has used.
func TestAnyLog(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		figure := func(name string, high float64) float64 {
			if rapid.Bool().Draw(t, name+" read") {
				return rapid.Float64Range(0, high).Draw(t, name)
			}
			return math.NaN()
		}
		p := plainPrior(rapid.Float64Range(100, 1000).Draw(t, "P10"), rapid.Float64Range(1000, 9000).Draw(t, "P90"))
		p.Known = rapid.Bool().Draw(t, "known")
		p.Shape.Band *= float64(rapid.IntRange(0, 1).Draw(t, "silica"))
		day := rapid.Float64Range(0, 20000).Draw(t, "day")
		count := rapid.IntRange(1, 4).Draw(t, "fills")
		var fills []Fill
		for i := range count {
			f := Fill{Start: day, Day: day, End: Ending(rapid.IntRange(1, 4).Draw(t, "end"))}
			for range rapid.IntRange(0, 6).Draw(t, "entries") {
				f.Day += rapid.Float64Range(0, 200).Draw(t, "days")
				f.Used += unit.Litres(rapid.Float64Range(0, 2000).Draw(t, "litres"))
				f.Seen = append(f.Seen, Observation{Day: f.Day, Used: f.Used, Feed: figure("feed", 3000), Product: figure("product", 3000), Silica: figure("silica test", 300), Below: rapid.Bool().Draw(t, "below")})
			}
			if i == count-1 {
				f.End = InService
			}
			fills = append(fills, f)
			day = f.Day
		}
		m, err := Learn(p, fills, 400, 1)
		if err != nil {
			t.Fatal(err)
		}
		f := m.Forecast(Habit{3: 5, 4: 50, 5: 20}, 400, 1)
		for name, b := range map[string]Band{"life": f.Life, "left": f.Left, "usable": f.Usable, "load": f.Load, "pen": f.Pen} {
			if !(b.P10 >= 0 && b.P10 <= b.P50 && b.P50 <= b.P90 && b.P90 < math.Inf(1)) {
				t.Fatalf("%s is %v", name, b)
			}
		}
		if !(f.Days.P10 >= 0 && f.Days.P10 <= f.Days.P50 && f.Days.P50 <= f.Days.P90) || !(f.Ended >= 0 && f.Ended <= 1+1e-9) {
			t.Fatalf("%+v", f)
		}
		for _, c := range m.Curve(unit.Litres(f.Life.P90), 10) {
			if !(c.Residue.P10 >= 0 && c.Residue.P90 < math.Inf(1) && c.Product.P90 < math.Inf(1)) {
				t.Fatalf("%+v", c)
			}
		}
	})
}

func TestLearnRefuses(t *testing.T) {
	good := plainPrior(800, 1250)
	now := []Fill{{Start: 0, Day: 10, Used: 100}}
	for name, c := range map[string]struct {
		p     func(*Prior)
		fills []Fill
	}{
		"no fill":             {func(*Prior) {}, nil},
		"no fill in service":  {func(*Prior) {}, []Fill{{Start: 0, Day: 10, Used: 100, End: BySpots}}},
		"few draws":           {func(p *Prior) { p.Lives = p.Lives[:3] }, now},
		"a life of 0":         {func(p *Prior) { p.Lives[0] = 0 }, now},
		"a shape without bed": {func(p *Prior) { p.Shape.Anion = 0 }, now},
		"a negative pen":      {func(p *Prior) { p.Shape.Feed = -1 }, now},
	} {
		p := good
		p.Lives = slices.Clone(good.Lives)
		c.p(&p)
		if _, err := Learn(p, c.fills, 100, 1); err == nil {
			t.Errorf("%s was accepted", name)
		}
	}
}

func TestAdvise(t *testing.T) {
	left := func(ended int) []float64 { // of 100 draws, from 10 to 1000 L
		xs := make([]float64, 100)
		for i := ended; i < len(xs); i++ {
			xs[i] = float64(10 * (i + 1))
		}
		return xs
	}
	for _, c := range []struct {
		name   string
		ended  int
		job    float64
		silica bool
		want   Advice
	}{
		{"plenty", 0, 50, true, Fine},
		{"a doubt that silica settles", 0, 200, true, TestSilica},
		{"a doubt that it cannot settle", 0, 200, false, BeforeBigJob},
		{"more likely than not", 0, 600, true, BeforeBigJob},
		{"past", 60, 10, true, RefillNow},
	} {
		f := Forecast{Ended: float64(c.ended) / 100, left: left(c.ended), silicaLeads: c.silica}
		if got := f.Advise(c.job); got != c.want {
			t.Errorf("%s: %s, want %s", c.name, got, c.want)
		}
	}
}

// The likeliest cause follows what the log shows.
func TestCauses(t *testing.T) {
	steady := Forecast{Load: Band{0.97, 1, 1.03}}
	heavier := Forecast{Load: Band{1.25, 1.3, 1.35}}
	for _, c := range []struct {
		name   string
		f      *Forecast
		rig    Setting
		sooner bool
		want   string
	}{
		{"a heavier feed", &heavier, Setting{}, true, "feed_changed"},
		{"short from the first fill", &steady, Setting{}, true, "fill_volume"},
		{"shrinking, with iron", &steady, Setting{Iron: true, Fills: 3, Shrinking: true}, true, "iron"},
		{"a membrane and a heavier feed", &heavier, Setting{Membrane: true, Fills: 2}, true, "membrane"},
		{"longer than planned", &steady, Setting{}, false, "end_unseen"},
		{"longer, with a lighter feed", &Forecast{Load: Band{0.65, 0.7, 0.75}}, Setting{}, false, "feed_changed"},
	} {
		if got := causes(c.f, c.rig, c.sooner); got[0].ID != c.want {
			t.Errorf("%s: %s first, want %s", c.name, got[0].ID, c.want)
		}
	}
	if !heavier.Drifted() || steady.Drifted() {
		t.Error("a feed of 1.3 has drifted, one of 1.0 has not")
	}
}

func TestHabit(t *testing.T) {
	epoch := time.Date(1970, 1, 1, 0, 0, 0, 0, time.UTC)
	for d := 0.0; d < 40*365; d += 11 {
		want := int(epoch.AddDate(0, 0, int(d)).Month()) - 1
		got := monthOf(d)
		if near := monthOf(d + 3); got != want && near != want && monthOf(d-3) != want {
			t.Fatalf("day %v is in month %d, want %d", d, got+1, want+1)
		}
	}
	expected := Habit{}
	for i := range expected {
		expected[i] = 10
	}
	day := func(month time.Month) float64 {
		return time.Date(2026, month, 2, 0, 0, 0, 0, time.UTC).Sub(epoch).Hours() / 24
	}
	h := expected.Learn([]Stretch{{day(5), day(8), 92 * 40}, {day(8), day(8), 15}})
	scale := (92*40.0 + 15 + 300) / (93*10 + 300) // 30 days of 10 L are the plan's say
	near(t, "June, all of it seen", h[5], (30*40+30*10*scale)/60, 1.5)
	near(t, "January, not seen", h[0], 10*scale, 1e-9)
	idle := Habit{}.Learn([]Stretch{{day(5), day(6), 0}})
	if idle != (Habit{}) {
		t.Errorf("no use, and none expected, gave %v", idle)
	}
}
