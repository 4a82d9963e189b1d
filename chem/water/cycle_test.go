package water

import (
	"math"
	"testing"

	"forebed/chem/unit"
)

// A reverse osmosis permeate between the buffers of carbonic acid and
// carbonate, on which Newton's method alone swings to and fro for ever. Found
// by a property test; the charge must close all the same.
func TestWithCarbonBetweenBuffers(t *testing.T) {
	w := Water{Temperature: 2.4375, PH: 8.39453125, Silica: 0.00048744968367111575}
	w.Ion = [NumIons]unit.MmolPerL{
		Calcium: 0.0009411614665663881, Magnesium: 0.00052925398632703517, Strontium: 0.00059524277606683986, Barium: 2.9762138803341983e-05,
		Sodium: 0.163265906409746, Potassium: 0.006998760252786132, Chloride: 0.097081582759604934, Sulfate: 0.00025443288830607564,
		Nitrate: 0.0084907018742566096, Fluoride: 0.0072800916744257312, Bicarbonate: 0.06003537154376893, Carbonate: 0.00052944688469550364,
	}
	out, err := w.WithCarbon(0.073868104923375269)
	if err != nil {
		t.Fatal(err)
	}
	if x := math.Abs(float64(out.Imbalance())); !(x <= 1e-9) {
		t.Errorf("charge left over: %g meq/L", x)
	}
}
