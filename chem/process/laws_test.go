package process

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"forebed/chem/unit"
	"forebed/chem/water"
)

// anyWater draws a balanced water such as wells give: up to about 20 meq/L,
// pH 5 to 9, 2 to 28 degC, with and without iron, sulfide, oxidants, organics.
func anyWater(t *rapid.T) water.Water {
	w := water.Water{Temperature: unit.Celsius(rapid.Float64Range(2, 28).Draw(t, "degC"))}
	conc := func(name string, most float64) unit.MmolPerL {
		return unit.MmolPerL(math.Pow(10, rapid.Float64Range(-4, math.Log10(most)).Draw(t, name)))
	}
	maybe := func(name string, most float64) float64 {
		if rapid.Bool().Draw(t, name+"?") {
			return rapid.Float64Range(0, most).Draw(t, name)
		}
		return 0
	}
	w.Ion[water.Calcium], w.Ion[water.Magnesium] = conc("Ca", 4), conc("Mg", 3)
	w.Ion[water.Potassium], w.Ion[water.Chloride], w.Ion[water.Sulfate] = conc("K", 0.3), conc("Cl", 5), conc("SO4", 4)
	w.Ion[water.Nitrate], w.Ion[water.Fluoride] = conc("NO3", 1), conc("F", 0.1)
	w.Ion[water.Strontium], w.Ion[water.Barium] = conc("Sr", 0.02), conc("Ba", 0.001)
	w.Ion[water.Iron] = unit.MmolPerL(maybe("Fe", 0.2))
	w.Ion[water.Manganese] = unit.MmolPerL(maybe("Mn", 0.02))
	w.Ion[water.Ammonium] = unit.MmolPerL(maybe("NH4", 0.1))
	w.Silica = conc("SiO2", 1)
	w.Sulfide = unit.MmolPerL(maybe("H2S", 0.1))
	w.Matter = water.Matter{
		ParticulateIron: unit.MgPerL(maybe("floc", 3)), FreeChlorine: unit.MgPerL(maybe("Cl2", 3)), Chloramine: unit.MgPerL(maybe("NH2Cl", 3)),
		Turbidity: maybe("NTU", 20), OrganicCarbon: unit.MgPerL(maybe("TOC", 6)), Tannin: unit.MgPerL(maybe("tannin", 2)),
		Oxygen: unit.MgPerL(maybe("O2", 10)), Unknown: water.Unknown(rapid.Uint16Range(0, 1<<14-1).Draw(t, "unknown")),
	}
	// Sodium makes the alkalinity what it is drawn to be.
	alkalinity := math.Pow(10, rapid.Float64Range(-1, 1).Draw(t, "alkalinity"))
	strong := 0.0
	for i, c := range w.Ion {
		strong += water.Ion(i).Charge() * float64(c)
	}
	if strong > alkalinity {
		w.Ion[water.Chloride] += unit.MmolPerL(strong - alkalinity)
	} else {
		w.Ion[water.Sodium] += unit.MmolPerL(alkalinity - strong)
	}
	out, err := w.WithPH(rapid.Float64Range(5.5, 9).Draw(t, "pH"))
	if err != nil {
		t.Skip(err)
	}
	return out
}

func anyStage(t *rapid.T) Stage {
	all := Catalogue()
	return all[rapid.IntRange(0, len(all)-1).Draw(t, "stage")]
}

// Whatever a stage does, the charges close, nothing is negative or not a
// number, and nobody gets more than one litre out of a litre.
func TestLawBalance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in, s := anyWater(t), anyStage(t)
		o, err := s.Apply(&in)
		if err != nil {
			t.Fatalf("%s: %v", s.Title(), err)
		}
		w := o.Out
		if x := math.Abs(float64(w.Imbalance())); !(x <= 1e-9) {
			t.Fatalf("%s leaves a charge of %g meq/L", s.Title(), x)
		}
		m := w.Matter
		all := []float64{float64(w.CO2), float64(w.Silica), float64(w.Sulfide), float64(m.ParticulateIron), float64(m.ParticulateManganese),
			float64(m.FreeChlorine), float64(m.Chloramine), m.Turbidity, float64(m.SuspendedSolids), float64(m.OrganicCarbon), float64(m.Tannin),
			float64(m.Oxygen), o.Use.Salt, o.Use.Oxidant, o.Use.Medium, o.Use.Energy, w.PH}
		for _, c := range w.Ion {
			all = append(all, float64(c))
		}
		for _, v := range all {
			if !(v >= 0) || math.IsInf(v, 0) {
				t.Fatalf("%s leaves %v in %+v", s.Title(), v, w)
			}
		}
		if !(o.Use.Feed >= 1) {
			t.Fatalf("%s makes a litre out of %g", s.Title(), o.Use.Feed)
		}
		again, err := s.Apply(&in)
		if err != nil || again != o {
			t.Fatalf("%s: the same water twice gives two outcomes", s.Title())
		}
	})
}

// Softening and the organics trap leave both loads of a mixed bed as they
// were: equivalents are swapped, none is taken out.
func TestLawExchangeKeepsLoad(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := anyWater(t)
		for _, s := range []Stage{&softener6, &softener15, &softenerFerrous, &organicsTrap} {
			o, err := s.Apply(&in)
			if err != nil {
				t.Fatal(err)
			}
			a, b := in.Load(), o.Out.Load()
			if !near(float64(b.Cation), float64(a.Cation), 1e-9) || math.Abs(float64(b.Anion-a.Anion)) > 1e-9*float64(a.Anion) {
				t.Fatalf("%s: loads %v before, %v after", s.Title(), a, b)
			}
		}
	})
}

// More recovery gives a worse permeate, and membranes keep mass: what is in
// the feed is in permeate and concentrate.
func TestLawRecovery(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := anyWater(t)
		r := ThinFilm()
		low := rapid.Float64Range(0.05, 0.7).Draw(t, "recovery")
		high := low + rapid.Float64Range(0.01, 0.2).Draw(t, "more")
		p, c, err := Permeate(&in, r, low)
		if err != nil {
			t.Fatal(err)
		}
		worse, _, err := Permeate(&in, r, high)
		if err != nil {
			t.Fatal(err)
		}
		if worse.Load().Cation < p.Load().Cation || worse.Load().Anion < p.Load().Anion || worse.Silica < p.Silica {
			t.Fatalf("recovery %.2f to %.2f: load %v to %v", low, high, p.Load(), worse.Load())
		}
		for i := range in.Ion {
			if i == int(water.Bicarbonate) || i == int(water.Carbonate) {
				continue // these move to and from CO2
			}
			sum := low*float64(p.Ion[i]) + (1-low)*float64(c.Ion[i])
			if !near(sum, float64(in.Ion[i]), 1e-9) {
				t.Fatalf("%s: %g in, %g out", water.Ion(i).ID(), float64(in.Ion[i]), sum)
			}
		}
		carbon := low*float64(p.TotalCarbon()) + (1-low)*float64(c.TotalCarbon())
		if !near(carbon, float64(in.TotalCarbon()), 1e-6) {
			t.Fatalf("carbon: %g in, %g out", float64(in.TotalCarbon()), carbon)
		}
	})
}

// Uniform rejection of a balanced water needs no potential: each ion passes
// in the same share.
func TestLawUniformRejection(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := anyWater(t)
		share := rapid.Float64Range(0.5, 0.99).Draw(t, "rejection")
		r := UniformRejection(share, share)
		p, _, err := Permeate(&in, r, 0)
		if err != nil {
			t.Fatal(err)
		}
		// The acids that stand outside the ions (H, OH, silicate) move it a little.
		minor := 0.0
		for i, c := range in.Ion {
			minor += water.Ion(i).Charge() * float64(c)
		}
		if got, want := float64(p.Ion[water.Sodium]), float64(in.Ion[water.Sodium])*(1-share); !near(got, want, 1e-6+2*math.Abs(minor)/float64(in.Load().Cation)) {
			t.Fatalf("sodium %g, want %g", got, want)
		}
	})
}

// More iron never comes out better, never costs less oxidant, and never lets
// a softener run longer.
func TestLawMoreIron(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := anyWater(t)
		more := in
		x := unit.MmolPerL(rapid.Float64Range(0.001, 0.1).Draw(t, "more"))
		more.Ion[water.Iron] += x
		more.Ion[water.Sodium] = max(0, more.Ion[water.Sodium]-2*x)
		more, err := more.WithCarbon(in.TotalCarbon())
		if err != nil {
			t.Skip(err)
		}
		for _, s := range []Stage{&mediaCoated, &mediaOre, &chlorineFeed, &permanganateFeed, &softener10, &softenerFerrous, &aerationOpen} {
			a, errA := s.Apply(&in)
			b, errB := s.Apply(&more)
			if errA != nil || errB != nil {
				t.Fatal(errA, errB)
			}
			// A pH that crosses a window on the way may change what the stage does.
			if a.Outside != b.Outside {
				continue
			}
			if AnyIron.Of(&b.Out) < AnyIron.Of(&a.Out)-1e-9 {
				t.Fatalf("%s: more iron in, less out", s.Title())
			}
			if b.Use.Oxidant < a.Use.Oxidant-1e-12 || b.Use.Salt < a.Use.Salt-1e-12 {
				t.Fatalf("%s: more iron, less used: %+v and %+v", s.Title(), a.Use, b.Use)
			}
		}
	})
}

// Stages that take carbon dioxide out raise the pH; those that oxidize or
// dechlorinate never do; neutralizing raises both pH and hardness.
func TestLawPH(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := anyWater(t)
		out := func(s Stage) water.Water {
			o, err := s.Apply(&in)
			if err != nil {
				t.Fatal(err)
			}
			return o.Out
		}
		if w := out(&degasserTower); w.PH < in.PH-1e-3 || float64(w.CO2) > float64(in.CO2)+1e-9 {
			t.Fatalf("degassed: pH %.3f from %.3f", w.PH, in.PH)
		}
		if w := out(&neutralizerCalcite); w.PH < in.PH-1e-9 || w.Hardness() < in.Hardness() {
			t.Fatalf("neutralized: pH %.3f from %.3f", w.PH, in.PH)
		}
		if w := out(&neutralizerBlend); w.PH < in.PH-1e-9 || w.Hardness() < in.Hardness() {
			t.Fatalf("neutralized by the blend: pH %.3f from %.3f", w.PH, in.PH)
		}
		if in.Sulfide > 0 {
			return // sulfide that leaves takes the acid of HS- with it
		}
		for _, s := range []Stage{&mediaCoated, &mediaOre, &carbonDeep} {
			if w := out(s); w.PH > in.PH+2e-3 {
				t.Fatalf("%s: pH %.3f from %.3f", s.Title(), w.PH, in.PH)
			}
		}
	})
}

// Variants stand in the order that their names promise: more salt leaks less
// and costs more, a longer contact takes out more, an open tank strips more
// than a chamber, and a finer cartridge passes less.
func TestLawVariants(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := anyWater(t)
		out := func(s Stage) Outcome {
			o, err := s.Apply(&in)
			if err != nil {
				t.Fatal(err)
			}
			return o
		}
		const eps = 1e-9
		a, b, c := out(&softener6), out(&softener10), out(&softener15)
		if a.Out.Hardness() < b.Out.Hardness()-eps || b.Out.Hardness() < c.Out.Hardness()-eps || a.Use.Salt > b.Use.Salt || b.Use.Salt > c.Use.Salt {
			t.Fatalf("salt: hardness %v %v %v, salt %v %v %v", a.Out.Hardness(), b.Out.Hardness(), c.Out.Hardness(), a.Use.Salt, b.Use.Salt, c.Use.Salt)
		}
		short, long, special, best := out(&carbonGranular).Out.Matter, out(&carbonDeep).Out.Matter, out(&carbonCatalytic).Out.Matter, out(&carbonCatalyticDeep).Out.Matter
		if short.FreeChlorine < long.FreeChlorine || short.Chloramine < long.Chloramine || short.Chloramine < special.Chloramine || special.Chloramine < best.Chloramine {
			t.Fatalf("carbon: %+v, %+v, %+v, %+v", short, long, special, best)
		}
		if open, closed := out(&aerationOpen).Out, out(&aerationChamber).Out; open.TotalCarbon() > closed.TotalCarbon()+eps || open.Sulfide > closed.Sulfide+eps {
			t.Fatalf("air: %v and %v mmol/L of carbon", open.TotalCarbon(), closed.TotalCarbon())
		}
		if coarse, fine := out(&sediment5um).Out.Matter, out(&sediment1um).Out.Matter; coarse.ParticulateIron < fine.ParticulateIron || coarse.Turbidity < fine.Turbidity {
			t.Fatalf("cartridges: %+v and %+v", coarse, fine)
		}
		if tap, pumped := out(&membraneTap), out(&membranePumped); tap.Out.Load().Cation > pumped.Out.Load().Cation || tap.Use.Feed < pumped.Use.Feed {
			t.Fatalf("membranes: %+v and %+v", tap.Use, pumped.Use)
		}
	})
}

// A bigger duty never asks for less: area, medium, tank and drop per unit.
func TestLawSize(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in, s := anyWater(t), anyStage(t)
		d := Duty{
			PeakFlow:   unit.LitresPerMinute(rapid.Float64Range(1, 60).Draw(t, "flow")),
			YearVolume: unit.Litres(rapid.Float64Range(100, 200000).Draw(t, "year")),
			DaysInUse:  rapid.Float64Range(1, 365).Draw(t, "days"), FeedPressure: unit.PSI(rapid.Float64Range(20, 80).Draw(t, "psi")),
		}
		big := d
		k := rapid.Float64Range(1, 3).Draw(t, "times")
		big.PeakFlow *= unit.LitresPerMinute(k)
		big.YearVolume *= unit.Litres(k)
		a, b := s.Size(&in, d), s.Size(&in, big)
		for _, z := range []Size{a, b} {
			if z.Text == "" || z.Class == "" || z.Units < 1 || !(z.Drop >= 0) || !(z.Waste >= 0) || !(z.Interval >= 0) || !(z.Salt >= 0) ||
				!(z.Feed.PeakFlow > 0) || !(z.Feed.YearVolume >= d.YearVolume) {
				t.Fatalf("%s: %+v", s.Title(), z)
			}
			for _, u := range z.Upkeep {
				if u.Task == "" || !(u.Every > 0) || math.IsInf(u.Every, 0) || !(u.Hours > 0) || !(u.Parts >= 0) || u.Source.Origin == "" {
					t.Fatalf("%s: upkeep %+v", s.Title(), u)
				}
			}
		}
		if b.Medium < a.Medium-1e-9 || b.Area < a.Area-1e-9 || b.Tank < a.Tank-1e-9 || b.Units < a.Units && b.Class == a.Class {
			t.Fatalf("%s: %.2f times the duty asks for less: %+v and %+v", s.Title(), k, a, b)
		}
	})
}

// Colder water gives less permeate from the same membrane, and slower carbon.
func TestLawCold(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		warm := unit.Celsius(rapid.Float64Range(6, 28).Draw(t, "warm"))
		cold := warm - unit.Celsius(rapid.Float64Range(0.5, 5).Draw(t, "less"))
		ph := rapid.Float64Range(5, 9.5).Draw(t, "pH")
		if TemperatureFactor(cold) >= TemperatureFactor(warm) {
			t.Fatal("cold water gives more permeate")
		}
		if carbonGranular.passes(rateFree, ph, cold) <= carbonGranular.passes(rateFree, ph, warm) {
			t.Fatal("cold carbon is faster")
		}
		if IronOxidized(ph, cold, 1, 30) > IronOxidized(ph, warm, 1, 30) {
			t.Fatal("iron oxidizes faster in the cold")
		}
		// Tenfold for 15 degC at one pH: Stumm and Morgan, Aquatic Chemistry, from
		// memory; 96 kJ/mol of Sung and Morgan 1980 gives 8.
		const brief = 1e-4 // min: far from used up
		if f := IronOxidized(7, 20, 1, brief) / IronOxidized(7, 5, 1, brief); f < 7 || f > 11 {
			t.Fatalf("15 degC change the rate %.1f times", f)
		}
		if IronOxidized(ph, warm, 1, 30) > IronOxidized(ph+0.3, warm, 1, 30) {
			t.Fatal("iron oxidizes faster at a lower pH")
		}
	})
}

// A duty beyond all equipment still gets an answer, and a word about it.
func TestSizeEnds(t *testing.T) {
	w := ledgerWater(t)
	for _, s := range Catalogue() {
		z := s.Size(&w, Duty{PeakFlow: 1e9, YearVolume: 1e12, DaysInUse: 1, FeedPressure: 300})
		if z.Units > mostUnits && !z.Notes.Has(NoteManyUnits) {
			t.Errorf("%s: %d units and no word", s.Title(), z.Units)
		}
	}
}

func BenchmarkApply(b *testing.B) {
	w := ledgerWater(b)
	w.Matter.FreeChlorine, w.Matter.Oxygen = 0.5, 5
	for _, s := range Catalogue() {
		b.Run(string(s.Kind())+"/"+s.Variant(), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := s.Apply(&w); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// A bed that is backwashed or regenerated lasts the busiest day, whatever the
// water brings: it is done at night, not between two rinses. Common practice,
// no source.
func TestBedsLastTheDay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := anyWater(t)
		d := Duty{PeakFlow: unit.LitresPerMinute(rapid.Float64Range(2, 60).Draw(t, "L/min")), DaysInUse: 100,
			PeakDay: unit.Litres(rapid.Float64Range(20, 10000).Draw(t, "L a day"))}
		d.YearVolume = 50 * d.PeakDay
		for _, s := range []Stage{&mediaCoated, &mediaCatalyst, &mediaOre, &sedimentBed, &softener6} {
			if z := s.Size(&w, d); z.Interval < 1-1e-9 {
				t.Fatalf("%s, %s: %.2f days between backwashes", s.Title(), z.Text, z.Interval)
			}
		}
	})
}
