package water

import (
	_ "embed"
	"encoding/json"
	"math"
	"math/rand/v2"
	"sync"
)

//go:embed priors.json
var priorsJSON []byte

// quantiles is a distribution by its values at 5, 10, 25, 50, 75, 90 and 95 %.
type quantiles [7]float64

// levels frames the probabilities of quantiles.
var levels = [9]float64{0, 0.05, 0.10, 0.25, 0.50, 0.75, 0.90, 0.95, 1}

// at returns the value at probability u, straight between the levels; past
// the outer levels it goes on at the slope of the outer interval.
func (q *quantiles) at(u float64) float64 {
	i := 1
	for i < 6 && u > levels[i+1] {
		i++
	}
	return q[i-1] + (u-levels[i])/(levels[i+1]-levels[i])*(q[i]-q[i-1])
}

// draw takes one value, from 0 up.
func (q *quantiles) draw(r *rand.Rand) float64 { return max(q.at(r.Float64()), 0) }

// distribution is one row of the priors: the quantiles and on how many sites
// they rest.
type distribution struct {
	N int       `json:"n"`
	Q quantiles `json:"q"`
}

func (d *distribution) draw(r *rand.Rand) float64 { return d.Q.draw(r) }

// spread returns a normal standard deviation from the quartiles.
func (d *distribution) spread() float64 { return (d.Q[4] - d.Q[2]) / 1.349 }

// regime is the statistics of the wells of one climate.
type regime struct {
	Excess       distribution `json:"excess"`        // (total - larger) / larger, larger = max(hardness, alkalinity)
	Calcium      distribution `json:"calcium"`       // share of the hardness
	Hardness     distribution `json:"hardness"`      // share of the total cations
	Alkalinity   distribution `json:"alkalinity"`    // share of the total anions
	Potassium    distribution `json:"potassium"`     // share of the total cations
	Chloride     distribution `json:"chloride"`      // share of chloride and sulfate, in equivalents
	ChloridePoor distribution `json:"chloride_poor"` // the same, where sodium is below 0.3 of the two
	Nitrate      distribution `json:"nitrate"`       // meq/L
	Fluoride     distribution `json:"fluoride"`      // meq/L
	Ammonium     distribution `json:"ammonium"`      // meq/L
	Silica       distribution `json:"silica"`        // mmol/L
	Iron         distribution `json:"iron"`          // meq/L as Fe2+
	Manganese    distribution `json:"manganese"`     // meq/L as Mn2+
	Pressure     distribution `json:"pressure"`      // log10 of the CO2 pressure in atm
	Total        distribution `json:"total"`         // total cations, meq/L
	Temperature  distribution `json:"temperature"`   // °C
}

// likelihood says how a measured figure lies about the computed one: the
// ratio at the median, and scale and degrees of freedom of Student's
// distribution of its logarithm. Few degrees of freedom are wide tails.
type likelihood struct {
	N       int     `json:"n"`
	Ratio   float64 `json:"ratio"`
	Scale   float64 `json:"scale"`
	Freedom float64 `json:"freedom"`
}

// priors is what real wells look like.
type priors struct {
	Regimes struct {
		Humid regime `json:"humid"`
		Dry   regime `json:"dry"`
	} `json:"regimes"`
	DryShare     float64      `json:"dry_share"`     // of the sites
	Soft         quantiles    `json:"soft_excess"`   // excess in soft acid waters: a judgement, no data
	Conductivity likelihood   `json:"conductivity"`  // measured over theory
	Solids       likelihood   `json:"solids"`        // residue at 180 °C over the sum of constituents
	LaboratoryPH distribution `json:"laboratory_ph"` // pH in the laboratory less pH in the field
}

// loadPriors decodes the embedded statistics once.
var loadPriors = sync.OnceValue(func() *priors {
	p := new(priors)
	if err := json.Unmarshal(priorsJSON, p); err != nil {
		panic("water: priors.json: " + err.Error()) // embedded: a fault of the build; a test decodes it
	}
	return p
})

// agree returns the logarithm of the density of a reported figure where
// expected was computed, up to a constant. An error of the reading above the
// usual one, and a factor for a disputed report, widen the scale.
func (l *likelihood) agree(g *given, expected, factor float64) float64 {
	found := g.value
	scale := l.Scale * factor
	if g.interval {
		switch {
		case expected > g.high:
			found = g.high
		case expected < g.low:
			found = g.low
		default:
			found = l.Ratio * expected
		}
	} else if found > 0 {
		scale = math.Hypot(scale, max(g.sigma/found-methodErrors[qTDS].share, 0))
	}
	t := math.Log(max(found, 1e-3)/max(l.Ratio*expected, 1e-3)) / scale
	return -(l.Freedom + 1) / 2 * math.Log1p(t*t/l.Freedom)
}
