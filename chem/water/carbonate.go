package water

import (
	"fmt"
	"math"

	"forebed/chem/unit"
)

// Carbon is how dissolved inorganic carbon is split at one pH.
type Carbon struct {
	CO2, HCO3, CO3 unit.MmolPerL
}

// The pH within which a water is computed. Outside it the model (no HSO4-, no
// hydroxide pairs) says nothing.
const (
	lowestPH  = 2.0
	highestPH = 12.0
)

// hottest is the end of the constants' range, °C.
const hottest = 60.0

// acidity holds, for one temperature and ionic strength, what turns the
// activity h of H+ into concentrations: the constants with the activity
// coefficients of charge 1 and 2 worked in.
type acidity struct {
	hydrogen, hydroxide float64 // [H+]/h and [OH-]·h, in mmol/L
	k1, k2              float64 // [HCO3-]/[CO2]·h and [CO3--]/[HCO3-]·h
	silicic, sulfide    float64 // [H3SiO4-]/[H4SiO4]·h and [HS-]/[H2S]·h
}

func (eq *equilibria) acidity(ionicStrength float64) acidity {
	g1, g2 := davies(eq.a, ionicStrength)
	one := 1 / g1
	return acidity{
		hydrogen: 1000 * one, hydroxide: 1000 * one * eq.kw,
		k1: one * eq.k1, k2: eq.k2 * g1 / g2, silicic: one * eq.silicic, sulfide: one * eq.sulfide,
	}
}

// minor returns the charge of what stands outside Ion, in mmol/L:
// [H+] - [OH-] - [H3SiO4-] - [HS-], and its derivative to ln h.
func (a *acidity) minor(h float64, silica, sulfide unit.MmolPerL) (charge, slope float64) {
	hydrogen, hydroxide := h*a.hydrogen, a.hydroxide/h
	charge, slope = hydrogen-hydroxide, hydrogen+hydroxide
	weak := func(total unit.MmolPerL, k float64) {
		share := k / (h + k)
		charge -= float64(total) * share
		slope += float64(total) * share * (1 - share)
	}
	weak(silica, a.silicic)
	if sulfide != 0 {
		weak(sulfide, a.sulfide)
	}
	return charge, slope
}

// ratios returns [HCO3-]/[CO2] and [CO3--]/[CO2] at an activity of H+.
func (a *acidity) ratios(h float64) (hco3, co3 float64) {
	hco3 = a.k1 / h
	return hco3, hco3 * a.k2 / h
}

// Speciate splits the carbonate system of a water whose pH and total
// alkalinity were measured, at ionic strength I (mol/L). Silica lowers the
// carbonate part of the alkalinity above pH 9. Where the alkalinity leaves
// nothing for bicarbonate (acid water), HCO3 and CO3 are 0 and CO2, which
// alkalinity cannot tell then, is 0 as well; ok is false.
//
//	[HCO3-] + 2[CO3--] = Alk - [OH-] + [H+] - [H3SiO4-]
//
// Constants: PB82; activities: Davies. Against a solver with ion pairs CO2
// comes out 0 to 2.5 % high.
func Speciate(ph float64, alkalinity unit.MeqPerL, silica unit.MmolPerL, t unit.Celsius, ionicStrength float64) (c Carbon, ok bool) {
	eq := at(t)
	a := eq.acidity(ionicStrength)
	return a.fromPH(exp10(-ph), float64(alkalinity), silica, 0)
}

// fromPH is Speciate once the constants are there, for an activity of H+;
// strong is the charge that the strong ions leave, in meq/L, which is the total
// alkalinity.
func (a *acidity) fromPH(h, strong float64, silica, sulfide unit.MmolPerL) (Carbon, bool) {
	charge, _ := a.minor(h, silica, sulfide)
	rest := strong + charge
	if rest <= 0 {
		return Carbon{}, false
	}
	r1, r2 := a.ratios(h)
	co2 := rest / (r1 + 2*r2)
	return Carbon{CO2: unit.MmolPerL(co2), HCO3: unit.MmolPerL(co2 * r1), CO3: unit.MmolPerL(co2 * r2)}, true
}

// strong returns the charge of the strong ions: cations less Cl, SO4, NO3, F,
// in meq/L. In a balanced water this is the total alkalinity; it is negative
// in a water that holds mineral acid.
func (w *Water) strong() float64 {
	var s float64
	for i := range Ion(NumIons) {
		if i != Bicarbonate && i != Carbonate {
			s += valence[i] * float64(w.Ion[i])
		}
	}
	return s
}

// Imbalance returns the charge that is left over in a water, in meq/L:
//
//	sum z·c(ions) + [H+] - [OH-] - [H3SiO4-] - [HS-]
//
// the last four following from PH, Silica and Sulfide. It is 0 within 1e-9 in
// every water that this package makes.
func (w *Water) Imbalance() unit.MeqPerL {
	eq := w.equilibria()
	a := eq.acidity(w.IonicStrength())
	minor, _ := a.minor(exp10(-w.PH), w.Silica, w.Sulfide)
	return unit.MeqPerL(w.strong() - float64(w.Ion[Bicarbonate]) - 2*float64(w.Ion[Carbonate]) + minor)
}

// Tolerances of the speciation.
const (
	chargeTolerance = 1e-11 // meq/L of charge left over
	smallStep       = 1e-7  // of ln h; see solve
	rounds          = 60    // of the ionic strength; 3 to 5 are usual
)

// settle repeats a step, which sets the activity h of H+ and the carbon for
// given activity coefficients, until the ionic strength that the step leaves is
// the one it was given. It begins with the carbon that the water holds.
//
// What a step leaves hangs little on what it was given, so that repeating it
// would do; the slope between the last two steps saves half of them.
func (w *Water) settle(eq *equilibria, h float64, step func(a acidity) (h float64, c Carbon, err error)) error {
	// The ions other than bicarbonate and carbonate stay as they are.
	own := func(h float64, c Carbon) float64 { return float64(c.HCO3+4*c.CO3)/2000 + (h+1e-14/h)/2 }
	c := Carbon{HCO3: w.Ion[Bicarbonate], CO3: w.Ion[Carbonate]}
	rest := w.ionic() - float64(c.HCO3+4*c.CO3)/2000
	given := rest + own(h, c)
	var lastGiven, lastLeft float64
	for i := range rounds {
		var err error
		if h, c, err = step(eq.acidity(given)); err != nil {
			return err
		}
		left := rest + own(h, c)
		if math.Abs(left-given) <= 1e-14+1e-11*given {
			w.set(c)
			return nil
		}
		next := left
		if slope := (left - lastLeft) / (given - lastGiven); i > 0 && math.Abs(slope) < 0.5 {
			next = given + (left-given)/(1-slope)
		}
		lastGiven, lastLeft, given = given, left, next
	}
	return fmt.Errorf("the ionic strength does not settle at pH %.2f", -math.Log10(h))
}

// WithCarbon closes the water again after ions or carbon dioxide were added or
// taken out: it keeps every strong ion, the temperature, silica and sulfide,
// and sets PH, CO2, HCO3 and CO3 so that the charges balance and the carbon
// sums to total. A water with mineral acid (negative alkalinity) comes out
// acid; one with more cations than the carbon can answer comes out caustic.
// It fails if total is negative or the pH would leave 2 to 12.
func (w Water) WithCarbon(total unit.MmolPerL) (Water, error) {
	if !(total >= 0) || math.IsInf(float64(total), 0) {
		return w, fmt.Errorf("total carbon is %v mmol/L, expected a number from 0 up", total)
	}
	return w.close(supply{amount: float64(total)})
}

// WithPressure sets the carbonate system of a water that stands under a
// partial pressure of carbon dioxide, given as log10 of atm (-3.4 in air, -3 to
// -1 in ground water): PH, CO2, HCO3 and CO3 follow.
func (w Water) WithPressure(logPCO2 float64) (Water, error) {
	if !(logPCO2 >= -8 && logPCO2 <= 1) {
		return w, fmt.Errorf("log10 of the carbon dioxide pressure is %v, expected -8 to 1", logPCO2)
	}
	return w.WithCO2(unit.MmolPerL(1000 * HenryCO2(w.Temperature) * exp10(logPCO2)))
}

// WithCO2 sets the carbonate system of a water that has so much dissolved
// carbon dioxide, as behind a degasser: PH, HCO3 and CO3 follow.
func (w Water) WithCO2(co2 unit.MmolPerL) (Water, error) {
	if !(co2 >= 0) || math.IsInf(float64(co2), 0) {
		return w, fmt.Errorf("carbon dioxide is %v mmol/L, expected a number from 0 up", co2)
	}
	return w.close(supply{amount: float64(co2), open: true})
}

// supply is where the carbon of a water comes from: a fixed total of carbon,
// or, open, a fixed carbon dioxide. (A struct, not an interface: it is made
// anew for every water, and stays off the heap.)
type supply struct {
	amount float64 // mmol/L
	open   bool
}

// charge returns the charge that carbon carries, in meq/L, and its fall with
// ln h, for the ratios r1 and r2 of HCO3- and CO3-- to CO2.
func (c supply) charge(r1, r2 float64) (charge, fall float64) {
	if c.open {
		return c.amount * (r1 + 2*r2), c.amount * (r1 + 4*r2)
	}
	s := 1 + r1 + r2
	mean := (r1 + 2*r2) / s // charges a mole of carbon
	return c.amount * mean, c.amount * ((r1+4*r2)/s - mean*mean)
}

// dioxide returns the carbon dioxide.
func (c supply) dioxide(r1, r2 float64) float64 {
	if c.open {
		return c.amount
	}
	return c.amount / (1 + r1 + r2)
}

// close finds the pH at which the charges balance with that supply of carbon.
func (w Water) close(carbon supply) (Water, error) {
	strong := w.strong()
	if !(w.PH >= lowestPH && w.PH <= highestPH) {
		w.PH = 7 // a start; the answer does not depend on it
	}
	eq := w.equilibria()
	w.constants = eq
	h := exp10(-w.PH)
	err := w.settle(eq, h, func(a acidity) (float64, Carbon, error) {
		var err error
		if h, err = a.solve(h, strong, carbon, w.Silica, w.Sulfide); err != nil {
			return h, Carbon{}, err
		}
		r1, r2 := a.ratios(h)
		co2 := carbon.dioxide(r1, r2)
		return h, Carbon{CO2: unit.MmolPerL(co2), HCO3: unit.MmolPerL(co2 * r1), CO3: unit.MmolPerL(co2 * r2)}, nil
	})
	if err == nil {
		w.PH = -math.Log10(h)
	}
	return w, err
}

// set puts the split of carbon into the water.
func (w *Water) set(c Carbon) { w.CO2, w.Ion[Bicarbonate], w.Ion[Carbonate] = c.CO2, c.HCO3, c.CO3 }

// solve finds the activity h of H+ at which the charges balance, by Newton's
// method on ln h inside a bracket: the charge left over rises steadily with h.
//
// A small step is the last. The charge f is a sum of exponentials and of shares
// of ln h, whose second derivative is nowhere above twice the first, so that a
// step d leaves an error in ln h below d², here 1e-14.
func (a *acidity) solve(h, strong float64, carbon supply, silica, sulfide unit.MmolPerL) (float64, error) {
	low, high := leastAcid, mostAcid
	before := math.Inf(1)
	for range 100 {
		f, slope := a.minor(h, silica, sulfide)
		held, fall := carbon.charge(a.ratios(h))
		f += strong - held
		slope += fall
		if math.Abs(f) <= chargeTolerance {
			return h, nil
		}
		if f > 0 {
			high = h
		} else {
			low = h
		}
		step := -f / slope
		next := h * nearExp(step)
		switch {
		// Between two buffers Newton's step can swing to and fro inside the
		// bracket for ever: where the charge does not halve, the bracket does.
		case !(next > low && next < high) || math.Abs(f) > before/2:
			next = math.Sqrt(low * high)
		case math.Abs(step) <= smallStep:
			return next, nil
		}
		h, before = next, math.Abs(f)
	}
	return 0, fmt.Errorf("no pH from %g to %g balances %.4g meq/L of strong ions with that carbon",
		lowestPH, highestPH, strong)
}

// The activities of H+ at the ends of the range of pH.
var leastAcid, mostAcid = exp10(-highestPH), exp10(-lowestPH)

// nearExp is e^x, for steps of Newton's method, which forgive an error: within
// 0.1 % of the step itself up to a half, and where the step is small exact.
func nearExp(x float64) float64 {
	if math.Abs(x) > 0.5 {
		return math.Exp(x)
	}
	return 1 + x*(1+x*(1.0/2+x*(1.0/6+x*(1.0/24))))
}

// WithPH sets the carbonate system of a water whose strong ions and pH are
// known: PH is kept, and CO2, HCO3 and CO3 follow from the alkalinity that
// the strong ions leave. It fails where they leave no room for bicarbonate at
// that pH; use WithCarbon there.
func (w Water) WithPH(ph float64) (Water, error) {
	if !(ph >= lowestPH && ph <= highestPH) {
		return w, fmt.Errorf("pH is %v, expected %g to %g", ph, lowestPH, highestPH)
	}
	w.PH = ph
	strong := w.strong()
	eq := w.equilibria()
	w.constants = eq
	h := exp10(-ph)
	err := w.settle(eq, h, func(a acidity) (float64, Carbon, error) {
		c, ok := a.fromPH(h, strong, w.Silica, w.Sulfide)
		if !ok {
			return h, c, fmt.Errorf("at pH %.2f an alkalinity of %.3g meq/L leaves no bicarbonate", ph, strong)
		}
		return h, c, nil
	})
	return w, err
}
