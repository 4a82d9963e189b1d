package bed

import "fmt"

// column is a row of cells through which batches of water pass. A state is
// kept per litre of batch, as in solver.
type column struct {
	solver
	cells int
	n     int        // species: cations, anions, weak acids
	resin []float64  // cells x species on the resin, eq/L (weak acids mol/L) of a batch
	warm  []unknowns // last solution of each cell
	drift []unknowns // ratio of the last two solutions: the next is guessed along it
	leave Halves     // exp(-Nf/N): share of the distance to equilibrium left after a cell
	water []float64  // the batch on its way
}

// newColumn makes a column of cells that each hold capacities qc and qa per
// litre of a batch, all sites in H and OH form.
func newColumn(sys *system, cells int, qc, qa float64, leave Halves) *column {
	n := len(sys.cations) + len(sys.anions) + len(sys.weak)
	c := &column{
		solver: solver{system: sys, qc: qc, qa: qa, total: make([]float64, n), out: make([]float64, n)},
		cells:  cells, n: n,
		resin: make([]float64, cells*n), warm: make([]unknowns, cells), drift: make([]unknowns, cells),
		leave: leave, water: make([]float64, n),
	}
	for i := range c.warm {
		c.warm[i] = sys.fresh()
		c.drift[i] = unknowns{1, 1, 1}
	}
	return c
}

// fresh is the solution of resins in H and OH form in pure water.
func (s *system) fresh() unknowns {
	h := 1e-7
	return unknowns{s: 1 / (s.kH * h), t: 1 / (s.kOH * s.kw / h), h: h}
}

// traces below this many eq/L stay on the resin: so little that no sum sees
// it, and a guard against numbers too small to be computed with quickly.
const traces = 1e-40

// pass sends one batch of the water in feed (eq/L, weak acids mol/L) through
// the cells from the one given. The product stands in c.water afterwards.
func (c *column) pass(feed []float64, from int) error {
	copy(c.water, feed)
	water, total, out := c.water, c.total, c.out
	for k := from; k < c.cells; k++ {
		resin := c.resin[k*c.n : k*c.n+c.n]
		for i, r := range resin {
			total[i] = r + water[i]
		}
		last := c.warm[k]
		u := unknowns{last.s * c.drift[k].s, last.t * c.drift[k].t, last.h * c.drift[k].h}
		if err := c.solve(&u); err != nil {
			return fmt.Errorf("cell %d of %d: %w", k+1, c.cells, err)
		}
		c.warm[k] = u
		c.drift[k] = unknowns{steady(u.s / last.s), steady(u.t / last.t), steady(u.h / last.h)}
		for i := range resin {
			e := c.leave.Anion
			if i < len(c.cations) {
				e = c.leave.Cation
			}
			w := out[i] + (water[i]-out[i])*e
			if w < traces {
				w = 0
			}
			resin[i] = total[i] - w
			water[i] = w
		}
	}
	return nil
}

// steady keeps a guessed ratio within a factor of two.
func steady(r float64) float64 { return min(max(r, 0.5), 2) }

// scale refers all amounts to a batch of another size: f is the old size over
// the new.
func (c *column) scale(f float64) {
	for i := range c.resin {
		c.resin[i] *= f
	}
	c.qc *= f
	c.qa *= f
}

// turn puts the cells in the opposite order, so that water enters at the
// other end.
func (c *column) turn() {
	for a, b := 0, c.cells-1; a < b; a, b = a+1, b-1 {
		for i := range c.n {
			x, y := a*c.n+i, b*c.n+i
			c.resin[x], c.resin[y] = c.resin[y], c.resin[x]
		}
		c.warm[a], c.warm[b] = c.warm[b], c.warm[a]
		c.drift[a], c.drift[b] = c.drift[b], c.drift[a]
	}
}
