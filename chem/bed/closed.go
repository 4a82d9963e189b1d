package bed

import (
	"math"

	"forebed/chem/unit"
	"forebed/chem/water"
)

// Closed is the closed form of a life: no cells, no allocation, about half a
// microsecond. Its fronts are explained in doc.go under "Closed form"; it
// holds for 20 or more transfer units in each half (TransferUnits) and is
// compared with the cell model in closed_test.go. The vessel, service and
// limits must pass their Check.
func Closed(v *Vessel, s Service, e *Ends, w *water.Water) Life {
	b := v.Serving(s)
	return b.Life(e, w)
}

// Bed is a vessel in service: what the closed form wants to know of it at one
// flow and temperature, worked out once for many waters.
type Bed struct {
	nf       Halves
	reached  Halves  // share of each half that is there to be used: conversion x distribution
	qc, qa   float64 // what the halves take up, meq
	capacity float64 // of the anion resin, eq/L
	acids    water.Acids
}

// Serving returns the vessel in service.
func (v *Vessel) Serving(s Service) Bed {
	filled := v.filled()
	return Bed{
		nf:      v.TransferUnits(s),
		reached: Halves{Cation: v.Conversion.Cation * v.Distribution, Anion: v.Conversion.Anion * v.Distribution},
		qc:      1000 * filled.Cation, qa: 1000 * filled.Anion,
		capacity: float64(v.AnionCapacity), acids: water.AcidsAt(s.Temperature),
	}
}

// Life is Closed for a water at the temperature of the service.
func (b *Bed) Life(e *Ends, w *water.Water) Life {
	f := newFronts(b, w)
	var l Life
	l.Kinetic = Halves{Cation: breakthrough(f.nf.Cation, capacityShare), Anion: breakthrough(f.nf.Anion, capacityShare)}
	l.Usable = Halves{Cation: l.Kinetic.Cation * b.reached.Cation, Anion: l.Kinetic.Anion * b.reached.Anion}
	l.Cation = unit.Litres(f.cations(capacityShare * f.cation))
	l.Anion = unit.Litres(volume(f.qa, f.anion) * l.Kinetic.Anion)
	l.Carbonic = unit.Litres(f.carbonic(capacityShare))
	l.First = EndAnion
	if l.Cation < l.Anion {
		l.First = EndCation
	}
	l.Silica = unit.Litres(f.silica(e.Silica * f.si))
	r := f.residue(float64(e.Residue))
	l.Residue, l.Back, l.Final = unit.Litres(r.first), unit.Litres(r.back), unit.Litres(r.final)
	if !math.IsInf(r.first, 1) {
		l.Conductivity = unit.MicroSPerCm(f.conductivity(r.first))
	}
	return l
}

// fronts holds the fronts that move through a bed, in litres of water and
// meq/L of water (mmol/L of carbon and silica).
type fronts struct {
	*Bed

	cation, anion float64 // load of either half
	strong        float64 // Cl, SO4, NO3, F
	sulfate       float64
	carbon        float64 // all carbonic acid and sulfide
	si            float64 // silica of the feed

	sites float64 // sites held by one mole of carbon, 1 to 2
	rest  float64 // load of all anions but silica, with that many sites a carbon
	zone  float64 // silica in the zone that the other anions push ahead
	grip  float64 // share of the sites that silica holds in that zone
	peak  float64 // highest silica of the product

	whole float64 // volume at which the other anions come through, if their front were sharp
	first float64 // volume at which silica comes through, if its front were sharp

	univalent float64 // sodium, potassium and ammonium
}

func newFronts(b *Bed, w *water.Water) fronts {
	load := w.Load()
	f := fronts{
		Bed:    b,
		cation: float64(load.Cation), anion: float64(load.Anion),
		sulfate: 2 * float64(w.Ion[water.Sulfate]),
		carbon:  float64(w.TotalCarbon() + w.Sulfide), si: float64(w.Silica),
		univalent: float64(w.Ion[water.Sodium] + w.Ion[water.Potassium] + w.Ion[water.Ammonium]),
	}
	f.strong = f.anion - f.carbon - f.si
	f.carbonate()
	f.silicaZone()
	return f
}

// carbonate finds how many sites one mole of carbon holds behind its front,
// and with that the front of all anions but silica.
//
// Carbonate takes two sites. Where the water is acid (ahead of the metals)
// nearly all carbon is CO2; behind their front, at the pH of the feed, CO2 is
// what the alkalinity leaves, and more of the resin turns to carbonate. The
// strong anions stand nearest the inlet, the carbon between them and its
// front, and the metals reach as far as their load allows.
func (f *fronts) carbonate() {
	f.sites = 1
	if f.carbon > 0 {
		all := f.carbon + f.strong // the strong anions push an equal load of carbon ahead of them
		acid := f.sitesOfCarbon(all)
		alkaline := f.sitesOfCarbon(f.gas(f.cation, all))
		f.sites = acid
		for range 2 {
			whole := volume(f.qa, f.strong+f.sites*f.carbon)
			metals, strong := min(1, whole*f.cation/f.qc), whole*f.strong/f.qa
			if metals > strong {
				f.sites = acid + (alkaline-acid)*(metals-strong)/(1-strong)
			}
		}
	}
	f.rest = f.strong + f.sites*f.carbon
	f.whole = volume(f.qa, f.rest)
}

// sitesOfCarbon returns the sites held by a mole of carbon on resin in
// bicarbonate and carbonate form at so many mmol/L of CO2. With p the share of
// bicarbonate, p + r p^2 = 1 and r = Kb K2/(Ka^2 K1 [CO2]).
func (f *fronts) sitesOfCarbon(co2 float64) float64 {
	kb := 2 * f.capacity * carbonateAffinity
	r := kb * f.acids.Carbonic2 / (bicarbonateAffinity * bicarbonateAffinity * f.acids.Carbonic1 * co2 / 1000)
	p := 2 / (1 + math.Sqrt(1+4*r))
	return 2 / (1 + p)
}

// silicaZone finds the plateau of silica that the other anions push ahead of
// them. Its resin holds silica on the share y = K c/(1 + K c) of the sites,
// K = Ksi Ks/Kw against OH, and its front runs at q y/c; the balance over the
// front of the other anions is c = si + rest y.
func (f *fronts) silicaZone() {
	if f.si <= 0 {
		f.first = math.Inf(1)
		return
	}
	k := silicateAffinity * f.acids.Silicic / f.acids.Water / 1000 // L/mmol
	b := 1 - k*(f.si+f.rest)
	root := math.Sqrt(b*b + 4*k*f.si)
	if b > 0 {
		f.zone = 2 * f.si / (b + root)
	} else {
		f.zone = (root - b) / (2 * k)
	}
	f.grip = k * f.zone / (1 + k*f.zone)
	f.first = f.qa * k / (1 + k*f.zone)
	// The zone is short: the other anions leak into it by exp(-transfer units).
	units := 0.0
	if f.rest > 0 {
		units = f.nf.Anion * max(0, 1-f.first/f.whole)
		f.peak = f.zone - (f.zone-f.si)*math.Exp(-units)
	} else {
		f.peak = f.zone
	}
}

// carbonic returns the volume at which a share of the feed's carbonic acid is
// in the product.
func (f *fronts) carbonic(share float64) float64 {
	if f.carbon <= 0 {
		return math.Inf(1)
	}
	return f.whole * breakthrough(f.nf.Anion, share*f.sites*f.carbon/f.rest)
}

// silica returns the volume at which the silica of the product reaches c
// mmol/L; +Inf if it never does.
func (f *fronts) silica(c float64) float64 {
	if c >= f.peak || f.si <= 0 {
		return math.Inf(1)
	}
	return f.first * langmuir(f.nf.Anion, c/f.peak, 1-f.grip)
}

// cations returns the volume at which the product holds c meq/L of metals.
//
// While the anion half works, metals are taken irreversibly. Afterwards the
// water in the bed is acid, first with carbonic acid and, once strong anions
// alone have filled the anion half, with strong acid, and the front of sodium
// unravels against hydrogen.
func (f *fronts) cations(c float64) float64 {
	if f.cation <= 0 || c >= f.cation {
		return math.Inf(1)
	}
	sharp := volume(f.qc, f.cation)
	life := sharp * breakthrough(f.nf.Cation, c/f.cation)
	life = f.unravelled(life, sharp, c, f.whole, 0, f.carbon+f.strong/f.sites)
	return f.unravelled(life, sharp, c, volume(f.qa, f.strong), f.strong, f.carbon)
}

// unravelled shortens the life of the cation half from acid of a strength that
// comes through the anion half at a volume. With K the selectivity of sodium
// over hydrogen, and the acidity ahead of and behind the front of the metals
// as shares a and b of their load, sodium holds K/(K+b) of the sites, and its
// front has the separation factor a/(K+b).
//
// The front does not take that shape at once, and only as far as there is
// sodium: between the arrival of the acid, six transfer units before the end
// of the bed, and the time the metals need to cross the new front's width, the
// life goes over from one form to the other. That passage is fitted to the
// cells (doc.go).
func (f *fronts) unravelled(life, sharp, c, arrival, strong, carbon float64) float64 {
	const k = 1.98 / hydrogenAffinity // sodium against hydrogen, B03 and B02
	n := f.nf.Cation
	arrival *= max(0, 1-6/n)
	if arrival >= life || f.univalent <= 0 {
		return life
	}
	ahead, behind := f.acidity(-strong, carbon)/f.cation, f.acidity(f.cation-strong, carbon)/f.cation
	target := sharp * k / (k + behind) * langmuir(n, c/f.cation, ahead/(k+behind))
	if target >= life {
		return life
	}
	width := sharp * -math.Log(c/f.cation) / (n * (1 - min(1, ahead)/k))
	passage := min(1, (life-arrival)/width) * -math.Expm1(-n*f.univalent/(2*f.cation))
	return life - (life-target)*passage
}

// acidity returns [H+] in mmol/L of water with an alkalinity and total carbon
// in mmol/L: (alk + h)(1 + h/K1) = C.
func (f *fronts) acidity(alkalinity, carbon float64) float64 {
	k := 1000 * f.acids.Carbonic1
	b := alkalinity + k
	q := k * (alkalinity - carbon)
	root := math.Sqrt(max(0, b*b-4*q))
	if b > 0 {
		return max(0, -2*q/(b+root))
	}
	return (root - b) / 2
}

// gas returns the CO2 in mmol/L of water with an alkalinity and total carbon in
// mmol/L, carbonate included:
//
//	alk h^2 - K1 (C - alk) h - K1 K2 (2 C - alk) = 0
//
// where the acidity counts with the alkalinity, which it passes in dilute water.
func (f *fronts) gas(alkalinity, carbon float64) float64 {
	alk := alkalinity + f.acidity(alkalinity, carbon)
	if alk <= 0 || alk >= 2*carbon { // nothing, or caustic
		return 0
	}
	k1, k2 := 1000*f.acids.Carbonic1, 1000*f.acids.Carbonic2
	b, c := k1*(carbon-alk), k1*k2*(2*carbon-alk)
	root := math.Sqrt(b*b + 4*alk*c)
	h := (root + b) / (2 * alk)
	if b < 0 {
		h = 2 * c / (root - b)
	}
	return carbon * h * h / (h*h + h*k1 + k1*k2)
}

// spots are the volumes at which the product dries to more than a limit.
type spots struct{ first, back, final float64 }

// residue returns when the product dries to more than the limit, mg/L: by the
// band of silica, by metals, or by sulfuric acid.
func (f *fronts) residue(limit float64) spots {
	const (
		silica   = 60.084 // mg/mmol
		sodium   = 53.0   // mg/meq as sodium carbonate; 58.4 as chloride, 71.0 as sulfate
		sulfuric = 49.04  // mg/meq as sulfuric acid
	)
	band, left := f.silica(limit/silica), limit-silica*f.si
	if left <= (1-backBelow)*limit { // silica at feed strength is as much as is allowed
		first := min(band, f.cations(limit/sodium))
		return spots{first, first, first}
	}
	// Metals come on top of silica at feed strength, once that is in the product.
	metals := min(f.cations(limit/sodium), max(f.first, f.cations(left/sodium)))
	if x := left / sulfuric / f.sulfate; x < 1 {
		metals = min(metals, volume(f.qa, f.sulfate)*breakthrough(f.nf.Anion, x))
	}
	if metals <= band {
		return spots{metals, metals, metals}
	}
	// The band is over when the front of the other anions has come so far that
	// no more silica than the limit is left: c = zone - (zone - si) x.
	x := (f.zone - limit/silica) / (f.zone - f.si)
	back := max(band, f.whole*breakthrough(f.nf.Anion, x))
	if back >= metals {
		return spots{band, band, band}
	}
	return spots{band, back, metals}
}

// conductivity returns that of the product at a volume, uS/cm at 25 degC, from
// limiting equivalent conductivities (H 350, OH 198, metals 55, HCO3 44,
// strong anions 75 S cm2/eq; handbook values, from memory).
func (f *fronts) conductivity(at float64) float64 {
	front := func(nf, sharp float64) float64 { return math.Exp(min(0, nf*(at/sharp-1)-1)) }
	metals := f.cation * front(f.nf.Cation, volume(f.qc, f.cation))
	strong, carbon := 0.0, (f.carbon+f.strong/f.sites)*front(f.nf.Anion, f.whole)
	if at > volume(f.qa, f.strong) {
		strong, carbon = f.strong, f.carbon
	}
	alkalinity := metals - strong
	h := f.acidity(alkalinity, carbon)
	hco3 := min(carbon, max(0, alkalinity+h))
	const pure = 0.055
	return pure + 350*h + 55*metals + 44*hco3 + 75*strong + 198*max(0, alkalinity-carbon)
}

// total returns the equivalents of each half when every site serves.
func (v *Vessel) total() Halves {
	return Halves{
		Cation: float64(v.Resin) * v.CationShare * float64(v.CationCapacity),
		Anion:  float64(v.Resin) * (1 - v.CationShare) * float64(v.AnionCapacity),
	}
}

// filled returns the equivalents that each half can take up as filled:
// volume x capacity x conversion x distribution.
func (v *Vessel) filled() Halves {
	t := v.total()
	return Halves{Cation: t.Cation * v.Conversion.Cation * v.Distribution, Anion: t.Anion * v.Conversion.Anion * v.Distribution}
}

// volume returns the litres in which a load of meq/L sums to so many meq.
func volume(meq, load float64) float64 {
	if load <= 0 {
		return math.Inf(1)
	}
	return meq / load
}

// stoichiometric returns the litres whose load equals the capacity in eq.
func stoichiometric(eq, meqPerL float64) float64 { return volume(1000*eq, meqPerL) }

// breakthrough returns the throughput, as a share of the stoichiometric one,
// at which c/c0 reaches x: T = 1 + (1 + ln x)/Nf, the constant pattern of an
// irreversible uptake under film control (Vermeulen; ledger B46, from
// memory, checked numerically). It holds for T <= 1 + 1/Nf, that is x < 1;
// 0 where even the fresh bed leaks more.
func breakthrough(nf, x float64) float64 {
	return max(0, 1+(1+math.Log(x))/nf)
}

// langmuir is breakthrough for an uptake with separation factor r (0 is
// irreversible):
//
//	T = 1 + ((1 + ln x) - r (1 + ln(1 - x))) / (Nf (1 - r))
//
// Integrated from dx/dT = Nf (x - x*), x* = r x/(1 - (1-r) x), with the
// centroid at T = 1.
func langmuir(nf, x, r float64) float64 {
	r = min(r, 0.95)
	return max(0, 1+((1+math.Log(x))-r*(1+math.Log1p(-x)))/(nf*(1-r)))
}
