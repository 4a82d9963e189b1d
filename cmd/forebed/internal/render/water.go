package render

import (
	"fmt"
	"slices"
	"strings"

	"forebed/chem/unit"
	"forebed/chem/water"
	"forebed/cmd/forebed/internal/chart"
)

// Water composes what is in a water: ions with their origin, both loads, the
// checks, and bars of cations and anions.
func Water(c *water.Composition) []Block {
	d := &draft{}
	name := c.Label
	if name == "" {
		name = "your water"
	}
	d.title("What is in the water: " + name)
	d.lead(summary(c))
	composition(d, c)
	return d.blocks
}

// summary says in one sentence what kind of water it is.
func summary(c *water.Composition) string {
	gpg := c.Hardness.P50 / grain
	parts := []string{fmt.Sprintf("%s: %s gpg (%s mg/L as CaCO3)", hardnessClass(c.Hardness.P50), Figures(gpg, 2), Figures(c.Hardness.P50, 3))}
	parts = append(parts, metal(c, "iron", water.Iron, water.UnknownIron, 0.05, func(m *water.Matter) unit.MgPerL { return m.ParticulateIron })...)
	parts = append(parts, metal(c, "manganese", water.Manganese, water.UnknownManganese, 0.02, func(m *water.Matter) unit.MgPerL { return m.ParticulateManganese })...)
	if s := c.Sulfide.Milligrams.P50; s >= 0.05 {
		parts = append(parts, "hydrogen sulfide "+Figures(s, 2)+" mg/L")
	}
	if cl := float64(c.Central.Matter.FreeChlorine); cl >= 0.05 {
		parts = append(parts, "free chlorine "+Figures(cl, 2)+" mg/L")
	}
	if cl := float64(c.Central.Matter.Chloramine); cl >= 0.05 {
		parts = append(parts, "chloramine "+Figures(cl, 2)+" mg/L")
	}
	parts = append(parts, "pH "+Figures(c.PH.P50, 2),
		"solids when dried "+Figures(c.Residue.P50, 3)+" mg/L",
		"carbon dioxide "+Figures(c.CO2.Milligrams.P50, 2)+" mg/L")
	return strings.Join(parts, ", ") + "."
}

// metal names the iron or manganese of a water in its forms, if the report
// gave any: nobody shall read an estimate from other wells as a finding. Where
// only the total was measured, how it parts is an estimate too.
func metal(c *water.Composition, name string, ion water.Ion, unknown water.Unknown, least float64, particles func(*water.Matter) unit.MgPerL) []string {
	if c.Central.Matter.Unknown&unknown != 0 || len(c.Draws) == 0 {
		return nil
	}
	total := make([]float64, len(c.Draws))
	for i := range c.Draws {
		w := &c.Draws[i]
		total[i] = float64(w.Milligrams(ion) + particles(&w.Matter))
	}
	slices.Sort(total)
	mid := total[len(total)/2]
	switch {
	case mid < least:
		return nil
	case c.Ions[ion].Origin != water.Measured:
		return []string{name + " " + Figures(mid, 2) + " mg/L in all forms"}
	}
	dissolved := c.Ions[ion].Milligrams.P50
	out := []string{name + " " + Figures(dissolved, 2) + " mg/L dissolved"}
	if rest := mid - dissolved; rest >= least {
		out = append(out, name+" "+Figures(rest, 2)+" mg/L as particles")
	}
	return out
}

// grain is 1 grain per US gallon in mg/L as CaCO3.
var grain, _ = unit.GrainsUS.CaCO3()

// hardnessClass names the hardness as the US federal classes do: soft to 60,
// moderately hard to 120, hard to 180 mg/L as CaCO3 (ledger B-HARD-USGS).
func hardnessClass(mg float64) string {
	switch {
	case mg <= 60:
		return "soft"
	case mg <= 120:
		return "moderately hard"
	case mg <= 180:
		return "hard"
	}
	return "very hard"
}

// ionNames are the ions as the trade writes them, in the order of the table.
var ionNames = [water.NumIons]string{
	water.Calcium: "Ca", water.Magnesium: "Mg", water.Strontium: "Sr", water.Barium: "Ba", water.Sodium: "Na",
	water.Potassium: "K", water.Ammonium: "NH4", water.Iron: "Fe(II)", water.Manganese: "Mn(II)", water.Chloride: "Cl",
	water.Sulfate: "SO4", water.Nitrate: "NO3", water.Fluoride: "F", water.Bicarbonate: "HCO3", water.Carbonate: "CO3",
}

func composition(d *draft, c *water.Composition) {
	var rows [][]string
	row := func(name string, r water.Reading) {
		if r.Milligrams.P90 < 0.0005 {
			return
		}
		span := ""
		if low, high := Figures(r.Milligrams.P10, 2), Figures(r.Milligrams.P90, 2); low != high {
			span = low + " to " + high
		}
		rows = append(rows, []string{name, Concentration(r.Milligrams.P50), span, Figures(r.Equivalents.P50, 3), string(r.Origin)})
	}
	for i := range water.NumIons {
		row(ionNames[i], c.Ions[i])
	}
	row("CO2", c.CO2)
	row("SiO2", c.Silica)
	row("sulfide", c.Sulfide)
	d.table([]string{"", ">mg/L", ">P10 to P90", ">meq/L", "origin"}, rows)
	ions(d, c)
	d.para(fmt.Sprintf("pH %s (%s), %s °C. Hardness %s, alkalinity %s mg/L as CaCO3; conductivity %s uS/cm at 25 °C; dry residue %s mg/L. Saturation index of calcite %s, of gypsum %s.",
		band(c.PH, 2), c.PHOrigin, band(c.Temperature, 2), band(c.Hardness, 3), band(c.Alkalinity, 3), band(c.Conductivity, 3), band(c.Residue, 3), band(c.Calcite, 2), band(c.Gypsum, 2)))
	d.para(fmt.Sprintf("Load on the resin: cation half %s meq/L, anion half %s meq/L. Carbon dioxide and silica carry no charge, so no pen sees them, yet they use up the anion half.",
		band(c.CationLoad, 3), band(c.AnionLoad, 3)))
	if len(c.Given) > 0 {
		d.para("These figures rest on: " + strings.Join(c.Given, ", ") + ". What was not measured is drawn from the statistics of real wells.")
	}
	for _, k := range c.Checks {
		text := sentence(k.Sentence)
		if k.Effect != "" {
			text += " Effect: " + sentence(strings.TrimPrefix(k.Effect, "none: "))
		}
		d.toned(checkTone(k.Severity), text)
		d.sub("[" + plain(k.Code) + "; " + k.Source + "]")
	}
	for _, k := range c.Cautions {
		d.toned(Care, sentence(k.Text))
		d.sub("[" + plain(k.ID) + "; " + k.Source + "]")
	}
}

func checkTone(s water.Severity) Tone {
	if s == water.Ask || s == water.Warn {
		return Care
	}
	return Note
}

// band prints P50 with the range, if there is one at n significant figures.
func band(b water.Band, n int) string {
	mid, low, high := Figures(b.P50, n), Figures(b.P10, n), Figures(b.P90, n)
	if low == high {
		return mid
	}
	return fmt.Sprintf("%s (%s to %s)", mid, low, high)
}

// ions draws the bars of cations and anions, for eyes and for terminals.
func ions(d *draft, c *water.Composition) {
	var cations, anions []chart.Segment
	for i := range water.NumIons {
		v := c.Ions[i].Equivalents.P50
		if v < 0.005 {
			continue
		}
		s := chart.Segment{Name: ionNames[i], Value: v}
		if water.Ion(i).IsCation() {
			cations = append(cations, s)
		} else {
			anions = append(anions, s)
		}
	}
	for _, s := range []chart.Segment{
		{Name: "CO2", Value: c.CO2.Equivalents.P50, Unseen: true},
		{Name: "SiO2", Value: c.Silica.Equivalents.P50, Unseen: true},
		{Name: "sulfide", Value: c.Sulfide.Equivalents.P50, Unseen: true},
	} {
		if s.Value >= 0.005 {
			anions = append(anions, s)
		}
	}
	k := chart.Ions{ID: "ions", Title: "Cations against anions",
		Desc: "Bars in milliequivalents per litre. Hatched parts carry no charge and are not seen by a conductivity pen.",
		Rows: []chart.IonRow{{Name: "Cations", Segments: cations}, {Name: "Anions", Segments: anions}}}
	d.add(Block{Kind: Picture, SVG: k.SVG(), Text: k.Text(60)})
}
