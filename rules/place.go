package rules

import (
	"strings"

	"forebed/chem/bed"
	"forebed/chem/process"
	"forebed/chem/unit"
	"forebed/chem/water"
)

// siteValues states what is the same at every place of every train.
func (in *Input) siteValues() *Values {
	v := NewValues()
	if in.Sample != nil {
		v = &FactsOf(in.Sample, nil).Values
	}
	r := &in.Rig
	s, u := &r.Site, &r.Use
	for q, yes := range map[Quantity]bool{
		qPrivateWell: s.PrivateWell, qChlorinated: s.Chlorinated, qDrain: s.Drain, qSeptic: s.Septic, qPower: s.Power,
		qFreezing: s.Freezing, qOutdoors: s.Outdoors, qClosedWellHouse: s.ClosedWellHouse, qDrinkingUse: s.DrinkingUse,
		qHomeRegeneration: s.HomeRegeneration, qHotWater: s.HotWater, qSpray: s.Spray, qMetalPiping: s.MetalPiping,
		qRegeneratedOnSite: s.Regenerated, qExchanged: r.Vessels[0].Kind == KindExchange, qTypeTwoAnion: r.Vessels[0].TypeTwo,
		qShockChlorination: s.ShockChlorination, qAcidDose: s.AcidDose,
	} {
		v.Flag(q, yes)
	}
	if s.SulfurSmell || !v.measured[qSulfurSmell] { // a smell that the report names is not taken back
		v.Flag(qSulfurSmell, s.SulfurSmell)
	}
	first := &r.Vessels[0].Vessel
	v.Know(qResinVolume, float64(first.Resin))
	v.Know(qBedDepth, float64(first.Depth))
	flow := u.PeakFlow
	if r.Line == LineParallel {
		all := first.Resin
		for i := range r.Vessels[1:] {
			all += r.Vessels[i+1].Vessel.Resin
		}
		flow *= unit.LitresPerMinute(first.Resin / all)
	}
	v.Know(qServiceFlow, first.ServiceFlow(bed.Service{Flow: flow}))
	v.Know(qSeasonVolume, float64(u.YearVolume()))
	v.Know(qFeedPressure, float64(s.Pressure))
	v.Know(qPeakFlow, float64(u.PeakFlow))
	v.Know(qWellFlow, float64(s.PumpFlow))
	v.Know(qIdleDays, u.idleDays())
	v.Know(qResidueLimit, float64(r.Ends.Residue))
	return v
}

// idleDays is the longest time without use: the closed season, or the time
// between two rinses of a rig that runs all year.
func (u *Use) idleDays() float64 {
	const daysPerMonth = 365.0 / 12
	return max((12-u.MonthsPerYear)*daysPerMonth, 7/u.RinsesPerWeek)
}

// spot is a place of a train that rules are judged at: stage i, or the vessel
// for i = len(train).
type spot struct {
	t      train
	i      int
	values Values // all but the water
}

// spotAt states what is known at a place, apart from its water.
func (b *bench) spotAt(t train, sizes []*fitted, i int) spot {
	s := spot{t: t, i: i, values: *b.site}
	v := &s.values
	ks := t.kinds()
	v.Upstream(ks[:i])
	v.Downstream(ks[min(i+1, len(ks)):])
	if i == len(t) {
		v.Know(qPressureLeft, float64(b.nozzle(sizes, 1)))
		v.Flag(qPumped, anyRepumped(sizes))
		return s
	}
	stage, z := t[i].stage, sizes[i]
	v.Flag(qNextIsMembrane, i+1 < len(t) && ks[i+1] == process.ReverseOsmosis)
	v.Flag(qInstalled, t[i].installed)
	v.Flag(qPumped, anyRepumped(sizes[:i]) || stage.Variant() == "pumped")
	peak := float64(b.rig.Use.PeakFlow)
	if i+1 < len(sizes) { // a tank behind asks for a small steady flow
		peak = float64(sizes[i+1].Feed.PeakFlow)
	}
	if z.Area > 0 && stage.Kind() != process.ReverseOsmosis {
		v.Know(qStageFlux, peak*60/1000/z.Area)
	}
	if z.Medium > 0 {
		v.Know(qStageLoading, peak*60/float64(z.Medium))
		v.Know(qContactTime, float64(z.Medium)/peak)
	} else if z.Tank > 0 {
		v.Know(qContactTime, float64(z.Tank)/peak)
	}
	v.Know(qStageDrop, float64(z.Drop))
	if stage.Kind() == process.ReverseOsmosis {
		v.Know(qMembraneEnd, float64(z.End))
	}
	v.Know(qBackwashFlow, float64(z.Backwash))
	v.Flag(qBackwashShort, z.Backwash > b.rig.Site.PumpFlow)
	v.Flag(qVariantAir, strings.HasSuffix(stage.Variant(), "air") || stage.Kind() == process.Aeration)
	v.Flag(qVariantChlorine, stage.Variant() == "chlorine")
	v.Flag(qVariantPermanganate, strings.HasSuffix(stage.Variant(), "permanganate"))
	v.Flag(qVariantMagnesia, stage.Kind() == process.AcidNeutralizer && stage.Variant() != "calcite")
	v.Flag(qVariantTank, z.Tank > 0)
	return s
}

func anyRepumped(sizes []*fitted) bool {
	for i := range sizes {
		if sizes[i].Repumped {
			return true
		}
	}
	return false
}

// scope of the place.
func (s *spot) scope() Scope {
	if s.i == len(s.t) {
		return AtVessel
	}
	return StageScope(s.t[s.i].stage.Kind())
}

// perFill is what one fill takes in of iron, manganese and particles, in g per
// litre of resin.
type perFill struct{ iron, manganese, solids float64 }

// taken works out what one fill takes in. Particles are the suspended solids;
// where only turbidity was measured, 1 mg/L is taken for 1 NTU (a rough habit
// of the trade, no source).
func taken(w *water.Water, life, resin unit.Litres) perFill {
	const milligram = 1e-3
	litres := bound(life)
	m := &w.Matter
	solids := max(float64(m.SuspendedSolids), m.Turbidity)
	return perFill{
		iron:      process.AnyIron.Of(w) * milligram * litres / float64(resin),
		manganese: (float64(w.Milligrams(water.Manganese)) + float64(m.ParticulateManganese)) * milligram * litres / float64(resin),
		solids:    solids * milligram * litres / float64(resin),
	}
}
