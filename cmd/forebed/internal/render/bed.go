package render

import (
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"

	"forebed/chem/bed"
	"forebed/cmd/forebed/internal/engine"
)

// Bed composes the lives of a vessel by endpoint and its breakthrough curve.
func Bed(r *engine.Run, u Units) []Block {
	d := &draft{}
	d.title("How long this vessel lasts: " + r.Water)
	d.lead(fmt.Sprintf("%s of resin at %s and %s °C, on the central water of your report. Computed, not measured: your own log is the calibration.",
		u.Resin(float64(r.Vessel.Resin)), u.Flow(float64(r.Service.Flow)), Figures(float64(r.Service.Temperature), 2)))
	d.heading("Ends of life")
	bedEnds(d, r, u)
	d.heading("Breakthrough")
	d.picture("", breakthrough("breakthrough", r, u, math.Inf(1), nil))
	bedTable(d, r, u)
	d.heading("The bed itself")
	b := r.Through
	d.para(fmt.Sprintf("Share of the capacity used: cation half %s, anion half %s. Film kinetics alone allow %s and %s. Service flow %s bed volumes an hour; pressure drop %s clean.",
		Figures(b.Usable.Cation, 2), Figures(b.Usable.Anion, 2), Figures(b.Closed.Kinetic.Cation, 2), Figures(b.Closed.Kinetic.Anion, 2),
		Figures(60*float64(r.Service.Flow)/float64(r.Vessel.Resin), 2), u.Pressure(float64(r.Vessel.PressureDrop(r.Service)))))
	if drop := r.Vessel.PressureDrop(r.Service); drop >= r.Supply {
		d.toned(Care, fmt.Sprintf("This flow never comes: the bed alone would take %s, and the supply has %s. A plan names the flow that the rig can give.", u.Pressure(float64(drop)), u.Pressure(float64(r.Supply))))
	}
	if r.Vessels > 1 {
		d.para(fmt.Sprintf("This is the first of %d vessels, at its share of the flow; forebed plan counts all of them.", r.Vessels))
	}
	if r.AtLead != nil && r.AtLag != nil {
		d.para(fmt.Sprintf("Lead and lag: swapped when the water between them passes %s mg/L the two give %s between swaps, the pen between them then shows %s ppm and the highest residue behind both is %s mg/L; the vessel taken out has used %s of its cation half and %s of its anion half. Swapped as late as the product allows they give %s, with nothing in reserve.",
			Figures(float64(r.Ends.Residue), 2), u.Volume(float64(r.AtLead.Run)), Figures(r.AtLead.Between, 2), Figures(float64(r.AtLead.Highest), 2),
			Figures(r.AtLead.Used.Cation, 2), Figures(r.AtLead.Used.Anion, 2), u.Volume(float64(r.AtLag.Run))))
	}
	for _, n := range b.Notes {
		d.item(n.Text)
	}
	return d.blocks
}

// endNames says the ends of life in words.
var endNames = map[bed.Endpoint]string{
	bed.EndResidue: "dry residue passes %s mg/L (spots)", bed.EndMeter: "the pen passes %s ppm", bed.EndSilica: "silica passes %s %% of the feed",
	bed.EndHardness: "hardness passes %s mg/L as CaCO3", bed.EndPH: "free acid (pH below %s) or caustic (above %s)", bed.EndAnion: "anion half used up", bed.EndCation: "cation half used up",
}

func endName(e bed.End, limits *bed.Ends) string {
	name := endNames[e.ID]
	switch e.ID {
	case bed.EndResidue, bed.EndMeter, bed.EndHardness:
		return fmt.Sprintf(name, Figures(e.Limit, 2))
	case bed.EndSilica:
		return fmt.Sprintf(name, Figures(100*e.Limit, 2))
	case bed.EndPH:
		return fmt.Sprintf(name, Figures(limits.LowPH, 2), Figures(limits.HighPH, 2))
	}
	return name
}

func bedEnds(d *draft, r *engine.Run, u Units) {
	var rows [][]string
	add := func(e bed.End) {
		life, pen, last := "not in this run", "", ""
		if e.Reached() {
			life, pen = u.Volume(float64(e.Life)), Figures(e.Meter, 2)
			if e.Returns() {
				last = fmt.Sprintf("comes back after %s to waste", u.Volume(float64(e.Waste())))
				if final := float64(e.Final); !math.IsInf(final, 1) {
					last += ", then lasts to " + u.Volume(final)
				}
			}
		}
		rows = append(rows, []string{endName(e, r.Ends), life, pen, last})
	}
	for _, e := range r.Through.ResidueAt {
		add(e)
	}
	for _, e := range r.Through.Ends {
		if e.ID != bed.EndResidue || !containsLimit(r.Through.ResidueAt, e.Limit) {
			add(e)
		}
	}
	d.table([]string{"End", ">Life of a fill", ">Pen then, ppm", ""}, rows)
}

func containsLimit(ends []bed.End, limit float64) bool {
	for _, e := range ends {
		if e.Limit == limit {
			return true
		}
	}
	return false
}

// bedTable prints the curve at round shares of the run.
func bedTable(d *draft, r *engine.Run, u Units) {
	all := r.Through.Rows
	if len(all) == 0 {
		return
	}
	var rows [][]string
	top := float64(all[len(all)-1].Volume)
	next := 0.0
	peaks := peaksOf(r.Through)
	for i, x := range all {
		if float64(x.Volume) < next && !slices.Contains(peaks, i) {
			continue
		}
		next = float64(x.Volume) + top/16
		rows = append(rows, []string{u.Volume(float64(x.Volume)), Figures(float64(x.Residue), 2), Figures(x.Meter, 2), Figures(float64(x.Conductivity), 2),
			Figures(x.Water.PH, 2), Figures(float64(x.Water.SilicaMilligrams()), 2), Figures(float64(x.Hardness), 2)})
	}
	d.table([]string{">Through", ">Residue mg/L", ">Pen ppm", ">uS/cm", ">pH", ">SiO2 mg/L", ">Hardness"}, rows)
}

// peaksOf finds the rows of highest residue in the bands that pass, which even
// steps might step over.
func peaksOf(b *bed.Breakthrough) (peaks []int) {
	for _, band := range b.End(bed.EndResidue).Bands {
		peak := -1
		for i, x := range b.Rows {
			if x.Volume >= band.From && x.Volume <= band.To && (peak < 0 || x.Residue > b.Rows[peak].Residue) {
				peak = i
			}
		}
		if !math.IsInf(float64(band.To), 1) && peak >= 0 {
			peaks = append(peaks, peak)
		}
	}
	return peaks
}

// BedCSV writes the breakthrough curve for plotting, with the unit in the name
// of each column.
func BedCSV(w io.Writer, r *engine.Run) error {
	out := csv.NewWriter(w)
	head := []string{"volume_l", "volume_gal", "bed_volumes", "dry_residue_mg_per_l", "meter_ppm", "conductivity_us_per_cm", "ph", "silica_mg_per_l", "carbon_dioxide_mg_per_l", "hardness_mg_per_l_caco3"}
	if err := out.Write(head); err != nil {
		return err
	}
	for _, x := range r.Through.Rows {
		var row []string
		for _, v := range []float64{float64(x.Volume), x.Volume.Gallons(), x.BedVolumes, float64(x.Residue), x.Meter, float64(x.Conductivity), x.Water.PH,
			float64(x.Water.SilicaMilligrams()), float64(x.Water.CarbonDioxide()), float64(x.Hardness)} {
			row = append(row, strconv.FormatFloat(Round(v, 5), 'g', -1, 64))
		}
		if err := out.Write(row); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}
