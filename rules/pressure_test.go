package rules

import (
	"testing"

	"forebed/chem/unit"
)

// hoseRig is a cartridge at a flow and a supply pressure.
func hoseRig(t *testing.T, doc string) Rig {
	t.Helper()
	rig, err := ReadRig("rig.yaml", []byte("version: forebed.rig/1\n"+doc))
	if err != nil {
		t.Fatal(err)
	}
	return rig
}

func TestRigThatCannotDeliver(t *testing.T) {
	const cartridge = "{kind: cartridge, diameter: 4.5 in, depth: 17 in}"
	for _, c := range []struct {
		name, vessels string
		flow          string
		delivers      bool
	}{
		{"cartridge at 8 gpm", "[" + cartridge + "]", "8 gpm", false},
		{"the same at 1 gpm", "[" + cartridge + "]", "1 gpm", true},
		{"two in parallel at 8 gpm", "[" + cartridge + "," + cartridge + "]\narrangement: parallel", "8 gpm", true},
		{"two in series at 5 gpm", "[" + cartridge + "," + cartridge + "]\narrangement: series", "5 gpm", false},
		{"one at 5 gpm", "[" + cartridge + "]", "5 gpm", true},
	} {
		rig := hoseRig(t, "vessels: "+c.vessels+"\nuse: {peak_flow: "+c.flow+"}\nsite: {pressure: 14 psi, power: false}\n")
		p := planFor(t, hardWell(), rig, Options{})
		v := p.Vessel
		blocked := false
		for _, b := range p.Blocked {
			blocked = blocked || b.Rule == "bed-no-pressure"
		}
		if c.delivers {
			if v.PressureLeft <= 0 || blocked || v.DeliversLpm > p.Demand.PeakLpm {
				t.Errorf("%s: %.3g kPa left, %.3g L/min, blocked %v", c.name, v.PressureLeft, v.DeliversLpm, blocked)
			}
			continue
		}
		if v.PressureLeft > 0 || !blocked || p.Status != StatusNone {
			t.Errorf("%s: %.3g kPa left, blocked %v, status %s", c.name, v.PressureLeft, blocked, p.Status)
		}
		// At the flow that the plan names the rig works.
		rig.Use.PeakFlow = unit.LitresPerMinute(v.DeliversLpm)
		if q := planFor(t, hardWell(), rig, Options{}).Vessel; q.PressureLeft < float64(rig.Site.Pressure)/2-0.5 || q.PressureLeft > float64(rig.Site.Pressure) {
			t.Errorf("%s: at the %.3g L/min that it names %.3g kPa are left", c.name, v.DeliversLpm, q.PressureLeft)
		}
	}
}
