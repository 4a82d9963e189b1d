package process

import (
	"go/ast"
	"go/parser"
	"go/token"
	"math"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// sound refuses a source that says nothing, or that claims to have been seen
// and names no ledger row.
func sound(s Source) bool {
	return s.Origin != "" && (s.Status == CommonPractice || s.Status == Computed || s.Status == FromMemory || s.Rows != "" || strings.Contains(s.Origin, "ledger"))
}

var (
	slug      = regexp.MustCompile(`^[a-z0-9]+(_[a-z0-9]+)*$`)
	ledgerRow = regexp.MustCompile(`^([A-Z][0-9]{2}|[A-Z]-[A-Z0-9]+(-[A-Z0-9]+)*)$`)
)

func TestFigures(t *testing.T) {
	seen := map[string]bool{}
	for _, f := range Figures() {
		if !slug.MatchString(f.ID) || seen[f.ID] {
			t.Errorf("figure %q: the id is malformed or stands twice", f.ID)
		}
		seen[f.ID] = true
		if f.Unit == "" || f.What == "" || !sound(f.Source) {
			t.Errorf("figure %s lacks a unit, words or a source: %+v", f.ID, f)
		}
		if (f.Low != 0 || f.High != 0) && f.Low > f.Value || f.High != 0 && f.High < f.Value {
			t.Errorf("figure %s: %g does not lie in %g to %g", f.ID, f.Value, f.Low, f.High)
		}
		for _, row := range strings.Fields(f.Source.Rows) {
			if !ledgerRow.MatchString(row) {
				t.Errorf("figure %s: %q is no ledger row", f.ID, row)
			}
		}
	}
	// Every figure that the package declares is in the list.
	declared := 0
	files, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		file, err := parser.ParseFile(token.NewFileSet(), name, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(file, func(n ast.Node) bool {
			c, ok := n.(*ast.CompositeLit)
			if !ok || len(c.Elts) == 0 {
				return true
			}
			if id, ok := c.Type.(*ast.Ident); ok && id.Name == "Figure" {
				declared++
				if id := strings.Trim(c.Elts[0].(*ast.BasicLit).Value, `"`); !seen[id] {
					t.Errorf("figure %s is declared and not in Figures()", id)
				}
			}
			return true
		})
	}
	if declared != len(Figures()) {
		t.Errorf("%d figures declared, %d listed", declared, len(Figures()))
	}
}

// Every kind has a stage; every stage states itself completely.
func TestCatalogue(t *testing.T) {
	kinds := []Kind{SedimentFilter, Carbon, CatalyticCarbon, Aeration, OxidantFeed, OxidizingMediaFilter, Softener, AcidNeutralizer,
		Degasser, ReverseOsmosis, OrganicsTrap, Disinfection}
	w, d := ledgerWater(t), Duty{PeakFlow: 8, YearVolume: 3000, DaysInUse: 80, FeedPressure: 310}
	count := map[Kind]int{}
	for _, s := range Catalogue() {
		count[s.Kind()]++
		if found, ok := Find(s.Kind(), s.Variant()); !ok || found != s {
			t.Errorf("%s/%s is not found by its names", s.Kind(), s.Variant())
		}
		f := s.Facts()
		if !slug.MatchString(s.Variant()) || s.Title() == "" || f.Claim == "" || !sound(f.Source) || len(f.Protects) == 0 || f.Needs == 0 {
			t.Errorf("%s/%s does not state itself: %+v", s.Kind(), s.Variant(), f)
		}
		if len(f.Windows) == 0 || len(f.Windows) > 32 {
			t.Errorf("%s: %d windows", s.Title(), len(f.Windows))
		}
		for _, w := range f.Windows {
			if !(w.Low < w.High) || math.IsInf(w.Low, -1) && math.IsInf(w.High, 1) || w.Text == "" || !sound(w.Source) {
				t.Errorf("%s: window %+v", s.Title(), w)
			}
		}
		if z := s.Size(&w, d); (z.Medium > 0) != (f.Service.Value > 0) || z.Backwash > 0 != (f.Backwash.Value > 0) {
			t.Errorf("%s: rates %v and %v for %+v", s.Title(), f.Service, f.Backwash, z)
		}
		for _, p := range f.Protects {
			if p.From == "" || !sound(p.Source) {
				t.Errorf("%s: protection %+v", s.Title(), p)
			}
		}
	}
	for _, k := range kinds {
		if count[k] == 0 {
			t.Errorf("no stage of kind %s", k)
		}
	}
	if len(count) != len(kinds) {
		t.Errorf("%d kinds in the catalogue, %d in the design", len(count), len(kinds))
	}
	if _, ok := Find(Softener, "nonsense"); ok {
		t.Error("a variant that is not there was found")
	}
}

func TestNotesAndQuantities(t *testing.T) {
	seen := map[string]bool{}
	for n := range (Notes(1)<<numNotes - 1).All() {
		if !slug.MatchString(n.ID) || n.Text == "" || seen[n.ID] {
			t.Errorf("note %+v", n)
		}
		seen[n.ID] = true
	}
	if len(seen) != numNotes {
		t.Errorf("%d notes of %d", len(seen), numNotes)
	}
	for q := range Quantity(numQuantities) {
		if q.String() == "" || q.Unit() == "" || seen[q.String()] {
			t.Errorf("quantity %d: %q in %q", q, q, q.Unit())
		}
		seen[q.String()] = true
	}
}

// The rules of place can all be kept at once: no chain of them leads back to
// where it began, over the stages of the catalogue.
func TestOrdersAreAcyclic(t *testing.T) {
	all := Catalogue()
	for _, o := range Orders() {
		if o.Why == "" || !sound(o.Source) {
			t.Errorf("order %+v", o)
		}
		binds := false
		for _, a := range all {
			for _, b := range all {
				binds = binds || o.Binds(a, b)
			}
		}
		if !binds {
			t.Errorf("order %s/%s before %s/%s binds no stage", o.First, o.FirstVariant, o.Then, o.ThenVariant)
		}
	}
	const (
		fresh = iota
		open
		done
	)
	state := map[Stage]int{}
	var visit func(s Stage) bool
	visit = func(s Stage) bool {
		switch state[s] {
		case open:
			return false
		case done:
			return true
		}
		state[s] = open
		for _, next := range all {
			for _, o := range Orders() {
				if o.Binds(s, next) && !visit(next) {
					return false
				}
			}
		}
		state[s] = done
		return true
	}
	for _, s := range all {
		if !visit(s) {
			t.Fatalf("the rules of place lead from %s back to itself", s.Title())
		}
	}
}

// Places that competent people agree on. Reasons: treatment ledger 5.9.
func TestMisplaced(t *testing.T) {
	stage := func(k Kind, v string) Stage {
		s, ok := Find(k, v)
		if !ok {
			t.Fatalf("no %s/%s", k, v)
		}
		return s
	}
	var (
		sediment = stage(SedimentFilter, "5um")
		fine     = stage(SedimentFilter, "1um")
		carbon   = stage(Carbon, "granular")
		air      = stage(Aeration, "air_chamber")
		bleach   = stage(OxidantFeed, "chlorine")
		ore      = stage(OxidizingMediaFilter, "manganese_dioxide")
		soft     = stage(Softener, "salt_10")
		ferrous  = stage(Softener, "ferrous")
		lime     = stage(AcidNeutralizer, "calcite")
		tower    = stage(Degasser, "packed_tower")
		ro       = stage(ReverseOsmosis, "pumped")
		uv       = stage(Disinfection, "uv")
	)
	for _, c := range []struct {
		name  string
		train []Stage
		wrong bool
	}{
		{"the ledger's order", []Stage{sediment, bleach, ore, carbon, soft, fine, ro, tower, uv}, false},
		{"degasser before the membrane", []Stage{soft, tower, ro}, false},
		{"degasser after the membrane", []Stage{soft, ro, tower}, false},
		{"ferrous iron before air", []Stage{ferrous, air, ore}, false},
		{"ferrous iron before the neutralizer", []Stage{ferrous, lime}, false},
		{"air before a softener for ferrous iron", []Stage{air, ferrous}, true},
		{"carbon before the filter that needs the chlorine", []Stage{bleach, carbon, ore}, true},
		{"membrane before carbon", []Stage{ro, carbon}, true},
		{"membrane before the softener", []Stage{ro, soft}, true},
		{"filter before the oxidant", []Stage{ore, bleach}, true},
		{"neutralizer behind the softener", []Stage{soft, lime}, true},
		{"fine before coarse", []Stage{fine, sediment}, true},
		{"lamp before the tank of the membrane", []Stage{uv, ro}, true},
	} {
		if o, wrong := Misplaced(c.train); wrong != c.wrong {
			t.Errorf("%s: misplaced is %v (%s)", c.name, wrong, o.Why)
		}
	}
}

// Sizes that a person in the trade would expect; common practice, no source.
func TestSizes(t *testing.T) {
	w := ledgerWater(t)
	small := Duty{PeakFlow: 7.6, YearVolume: 2400, DaysInUse: 78, FeedPressure: 310} // 2 gpm, three 8 gal rinses a week
	for _, c := range []struct {
		stage        Stage
		class        string
		units        int
		lowest, most float64 // psi
	}{
		{&sediment5um, "cartridge_10in", 1, 0.3, 1.2},
		{&carbonGranular, "tank_10in", 1, 0.3, 5},
		{&mediaCoated, "tank_9in", 1, 1, 8},
		{&mediaOre, "tank_8in", 1, 0.5, 6},
		{&softener10, "tank_8in", 1, 1, 6},
		{&neutralizerCalcite, "tank_12in", 1, 0.5, 5},
		{&membraneTap, "membrane_1812", 1, 1, 5},
		{&degasserTower, "open_tank_30gal", 1, 0, 0},
		{&ultraviolet, "uv_3gpm", 1, 1, 5},
	} {
		z := c.stage.Size(&w, small)
		if z.Class != c.class || z.Units != c.units || z.Drop.PSI() < c.lowest || z.Drop.PSI() > c.most {
			t.Errorf("%s: %d of %s at %.1f psi (%s)", c.stage.Title(), z.Units, z.Class, z.Drop.PSI(), z.Text)
		}
	}
	big := Duty{PeakFlow: 400, YearVolume: 1e7, DaysInUse: 300, FeedPressure: 310}
	for _, s := range []Stage{&sediment5um, &carbonGranular, &softener10, &mediaCoated} {
		if z := s.Size(&w, big); !z.Notes.Has(NoteManyUnits) {
			t.Errorf("%s takes 400 L/min in %d units and says nothing", s.Title(), z.Units)
		}
	}
	low := small
	low.FeedPressure = 150
	if z := membraneTap.Size(&w, low); !z.Notes.Has(NoteLowPressure) {
		t.Error("a membrane at 22 psi is not told to have a pump")
	}
	// The duty that a membrane puts on what stands ahead of it: 1/recovery of
	// the water, at a small steady flow.
	z := membranePumped.Size(&w, Duty{PeakFlow: 20, YearVolume: 1000, DaysInUse: 100, PeakDay: 100, FeedPressure: 310})
	if z.Feed.YearVolume != 2000 || z.Feed.PeakDay != 200 || z.Feed.PeakFlow > 20 {
		t.Errorf("feed duty %+v", z.Feed)
	}
}
