package water

import (
	_ "embed"
	"encoding/json"
	"sync"
)

//go:embed priors.json
var priorsJSON []byte

// distribution is one row of the priors: the quantiles and on how many sites
// they rest.
type distribution struct {
	N int       `json:"n"`
	Q quantiles `json:"q"`
}

// regime is the statistics of the wells of one climate.
type regime struct {
	Excess      distribution `json:"excess"`      // (total - larger) / larger, larger = max(hardness, alkalinity)
	Calcium     distribution `json:"calcium"`     // share of the hardness
	Hardness    distribution `json:"hardness"`    // share of the total cations
	Alkalinity  distribution `json:"alkalinity"`  // share of the total anions
	Potassium   distribution `json:"potassium"`   // share of the total cations
	Chloride    distribution `json:"chloride"`    // share of chloride and sulfate, in equivalents
	Nitrate     distribution `json:"nitrate"`     // meq/L
	Fluoride    distribution `json:"fluoride"`    // meq/L
	Ammonium    distribution `json:"ammonium"`    // meq/L
	Silica      distribution `json:"silica"`      // mmol/L
	Iron        distribution `json:"iron"`        // meq/L as Fe2+
	Manganese   distribution `json:"manganese"`   // meq/L
	Pressure    distribution `json:"pressure"`    // log10 of the CO2 pressure in atm
	Total       distribution `json:"total"`       // total cations, meq/L
	Temperature distribution `json:"temperature"` // °C
}

// priors is what real wells look like.
type priors struct {
	Regimes struct {
		Humid regime `json:"humid"`
		Dry   regime `json:"dry"`
	} `json:"regimes"`
}

// loadPriors decodes the embedded statistics once.
var loadPriors = sync.OnceValue(func() *priors {
	p := new(priors)
	if err := json.Unmarshal(priorsJSON, p); err != nil {
		panic("water: priors.json: " + err.Error()) // embedded: a fault of the build; a test decodes it
	}
	return p
})
