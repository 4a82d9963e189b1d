package bed

import (
	"fmt"
	"math"
)

// exchanged is one ion of fixed charge in the cell equations.
type exchanged struct {
	k float64 // Gaines-Thomas constant over charge, so that y = k c s^z with c in eq/L
}

// weakAcid is an acid that only its ions bring onto the anion resin: carbonic
// acid (two steps), silicic acid and hydrogen sulfide (one step).
type weakAcid struct {
	k1, k2 float64 // dissociation constants, mol/L; k2 0 for a one-step acid
	ka, kb float64 // Gaines-Thomas constants of the first and second ion
}

// system is the chemistry that all cells of a column share. Ions are ordered
// univalent first. A resin that is missing has capacity 0.
type system struct {
	cations, anions                   []exchanged
	univalentCations, univalentAnions int
	weak                              []weakAcid
	kH, kOH                           float64 // Gaines-Thomas constants of H and OH
	kw                                float64
}

// unknowns close a cell: s and t are the activities of the free sites of the
// cation and anion resin (y = K c s^z and y = K c t^z), h is [H+] in mol/L.
type unknowns struct{ s, t, h float64 }

// cellSums are the residuals of a cell and their derivatives to the
// logarithms of the unknowns.
type cellSums struct {
	f1, f1s, f1h      float64 // sites of the cation resin:  sum(y) + y_H - 1
	f2, f2t, f2h      float64 // sites of the anion resin:   sum(y) + y_OH - 1
	f3, f3s, f3t, f3h float64 // charge of the water, eq/L
}

// solver equilibrates one cell at a time. All amounts are per litre of the
// batch of water that meets the cell: a resin of 0.1 eq that meets 0.5 L has
// capacity 0.2 eq/L. total holds cations, anions (eq/L) and weak acids
// (mol/L), water and resin together; out receives what is in the water.
type solver struct {
	*system
	qc, qa  float64
	total   []float64
	out     []float64
	newton  int // Newton steps taken
	bracket int // cells that needed the bracketed fallback
}

const (
	newtonTolerance = 1e-6 // last step in the logarithm of an unknown; the error left is its square
	newtonSteps     = 40
	longestStep     = 2.0 // in the logarithm
)

// notSolved reports a cell without a solution, with what is left over.
type notSolved struct {
	cation, anion, charge float64
}

func (e *notSolved) Error() string {
	return fmt.Sprintf("cell equilibrium not found: residual of the cation sites %.3g, of the anion sites %.3g, of the charge %.3g eq/L", e.cation, e.anion, e.charge)
}

// solve finds the unknowns by Newton's method from the warm start in u, with
// the bracketed search where that fails, and fills out.
func (c *solver) solve(u *unknowns) error {
	for range newtonSteps {
		m := c.sums(u)
		ds, dt, dh := m.step()
		c.newton++
		big := max(math.Abs(ds), math.Abs(dt), math.Abs(dh))
		if !(big < 1e3) {
			break
		}
		if big > longestStep {
			scale := longestStep / big
			ds, dt, dh = ds*scale, dt*scale, dh*scale
		}
		u.s *= expm(ds)
		u.t *= expm(dt)
		u.h *= expm(dh)
		if big < newtonTolerance {
			c.water(u)
			return nil
		}
	}
	return c.bracketed(u)
}

// expm is exp for a step of Newton's method: positive, and exact to third
// order where the steps are small.
func expm(x float64) float64 {
	if x > -0.25 && x < 0.25 {
		return (2 + x) / (2 - x)
	}
	return math.Exp(x)
}

// step returns the Newton step in ln s, ln t and ln h. The matrix is an arrow
// (s and t meet only in the charge), so h is eliminated first.
func (m *cellSums) step() (ds, dt, dh float64) {
	p, q := m.f3s/m.f1s, m.f3t/m.f2t
	dh = -(m.f3 - p*m.f1 - q*m.f2) / (m.f3h - p*m.f1h - q*m.f2h)
	return -(m.f1 + m.f1h*dh) / m.f1s, -(m.f2 + m.f2h*dh) / m.f2t, dh
}

// sums evaluates the equations of treatment ledger 2.4:
//
//	c = n/(1 + q k s^z),  y = k c s^z            (k is K over z, c and n in eq/L)
//	x = n/(1 + h/K1 + K2/h + q (ka t + kb (K2/h) t^2/2))
func (c *solver) sums(u *unknowns) (m cellSums) {
	oh := c.kw / u.h
	charge := u.h - oh
	total := c.total
	m.f1s, m.f2t = 1, 1
	if c.qc > 0 {
		yh := c.kH * u.h * u.s
		y, dy, water := occupancy(c.cations, c.univalentCations, total, c.qc, u.s)
		m.f1, m.f1s, m.f1h = y+yh-1, dy+yh, yh
		m.f3s = -c.qc * dy
		charge += water
	} else {
		for _, n := range total[:len(c.cations)] {
			charge += n
		}
	}
	total = total[len(c.cations):]
	m.f3h = u.h + oh
	if c.qa > 0 {
		yoh := c.kOH * oh * u.t
		y, dy, water := occupancy(c.anions, c.univalentAnions, total, c.qa, u.t)
		m.f2, m.f2t, m.f2h = y+yoh-1, dy+yoh, -yoh
		m.f3t = c.qa * dy
		charge -= water
	} else {
		for _, n := range total[:len(c.anions)] {
			charge -= n
		}
	}
	total = total[len(c.anions):]
	for i := range c.weak {
		a := &c.weak[i]
		second := a.k2 / u.h
		p, r := a.ka*u.t, a.kb*second*u.t*u.t // sites held per mol/L of the first ion, by either ion
		d := 1 / (1 + u.h/a.k1 + second + c.qa*(p+r/2))
		x := total[i] * d
		dDt, dDh := c.qa*(p+r)*d, (u.h/a.k1-second-c.qa*r/2)*d
		z := x * (1 + 2*second)
		charge -= z
		m.f3t += z * dDt
		m.f3h += 2*x*second + z*dDh
		if c.qa > 0 {
			y := x * (p + r)
			m.f2 += y
			m.f2t += x*(p+2*r) - y*dDt
			m.f2h -= x*r + y*dDh
		}
	}
	m.f3 = charge
	return m
}

// occupancy sums over the ions of one resin: y, its derivative to ln s, and
// what is left in the water in eq/L.
func occupancy(ions []exchanged, univalent int, total []float64, q, s float64) (y, dy, water float64) {
	total = total[:len(ions)]
	for i := range univalent {
		a := ions[i].k * s
		d := 1 / (1 + q*a)
		c := total[i] * d
		water += c
		y += a * c
		dy += a * c * d
	}
	s *= s
	for i := univalent; i < len(ions); i++ {
		a := ions[i].k * s
		d := 1 / (1 + q*a)
		c := total[i] * d
		water += c
		y += a * c
		dy += 2 * a * c * d
	}
	return y, dy, water
}

// water fills out with what is dissolved at the unknowns.
func (c *solver) water(u *unknowns) {
	i := 0
	i = dissolved(c.cations, c.univalentCations, c.total, c.out, i, c.qc, u.s)
	i = dissolved(c.anions, c.univalentAnions, c.total, c.out, i, c.qa, u.t)
	for j := range c.weak {
		a := &c.weak[j]
		second := a.k2 / u.h
		free := 1 + u.h/a.k1 + second
		c.out[i] = c.total[i] * free / (free + c.qa*(a.ka*u.t+a.kb*second*u.t*u.t/2))
		i++
	}
}

func dissolved(ions []exchanged, univalent int, total, out []float64, at int, q, s float64) int {
	for i := range ions {
		a := ions[i].k * s
		if i >= univalent {
			a *= s
		}
		out[at+i] = total[at+i] / (1 + q*a)
	}
	return at + len(ions)
}

// bracketed is the slow and certain way: the charge rises with h when the
// sites are full, and the sites fill with s and t, so three nested brackets
// in the logarithms hold the answer.
func (c *solver) bracketed(u *unknowns) error {
	c.bracket++
	charge := func(lnH float64) float64 {
		u.h = math.Exp(lnH)
		if c.qc > 0 {
			u.s = math.Exp(root(-60, 160, func(x float64) float64 { u.s = math.Exp(x); m := c.sums(u); return m.f1 }))
		}
		if c.qa > 0 {
			u.t = math.Exp(root(-60, 160, func(x float64) float64 { u.t = math.Exp(x); m := c.sums(u); return m.f2 }))
		}
		m := c.sums(u)
		return m.f3
	}
	charge(root(-60, 5, charge))
	m := c.sums(u)
	tolerance := 1e-10 * (1 + c.qc + c.qa)
	if !(math.Abs(m.f1) < 1e-9 && math.Abs(m.f2) < 1e-9 && math.Abs(m.f3) < tolerance) {
		return &notSolved{m.f1, m.f2, m.f3}
	}
	c.water(u)
	return nil
}

// root halves the bracket [lo, hi] of a rising function until it is as narrow
// as floating point allows.
func root(lo, hi float64, f func(float64) float64) float64 {
	for range 200 {
		mid := lo + (hi-lo)/2
		if mid == lo || mid == hi {
			break
		}
		if f(mid) < 0 {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo + (hi-lo)/2
}
