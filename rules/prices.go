package rules

import (
	"fmt"
	"hash/fnv"
	"maps"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"

	"forebed/chem/bed"
	"forebed/chem/process"
	"forebed/chem/unit"
)

// priceRow is the default price of one thing in USD of 2024, as a range. A
// price that its owner states replaces the range by that one number.
type priceRow struct {
	key              string // see Prices.find
	per              string // unit of the figures, see perUnits
	low, typical, up float64
	title            string
	source           string
}

const noSource = "common practice, no source, 2024 USD"

// priceTable is sorted by subject. The figures with a ledger id are the
// ledger's own (treatment ledger section 7, all common practice, no source);
// the others are of the same kind and just as open to correction.
var priceTable = []priceRow{
	{"resin", "ft3", 150, 250, 400, "mixed-bed resin", "ledger G01; " + noSource},
	{"exchange", "ft3", 40, 90, 200, "exchange of a vessel by a service", "ledger G02; " + noSource},
	{"resin_disposal", "ft3", 0, 0, 0, "disposal of spent resin", noSource},
	{"di_water", "gal", 0.50, 1.00, 2.00, "DI water bought in containers", noSource},
	{"water", "gal", 0, 0, 0, "water from a private well (its pumping is counted as electricity)", noSource},
	{"sewer", "gal", 0, 0, 0, "discharge of waste water", noSource},
	{"labour", "h", 10, 15, 25, "an hour of your own time (0 counts hours only)", noSource},
	{"electricity", "kWh", 0.10, 0.16, 0.35, "electricity", "ledger G10; " + noSource},

	{"vessel/tank", "ft3", 100, 200, 350, "tank with head and hoses, without resin", noSource},
	{"vessel/cartridge", "each", 60, 120, 250, "housing of a cartridge", noSource},
	{"vessel/exchange", "each", 0, 50, 150, "deposit and fittings of an exchange tank", noSource},

	// Equipment in a 10 in tank, see sizeFactor.
	{"equipment/sediment_filter", "each", 40, 90, 200, "housing with first cartridge", noSource},
	{"equipment/sediment_filter/depth_bed", "each", 500, 900, 1500, "backwashing filter bed", noSource},
	{"equipment/carbon", "each", 400, 800, 1500, "backwashing carbon filter", noSource},
	{"equipment/carbon/block", "each", 60, 120, 250, "housing with first carbon block", noSource},
	{"equipment/catalytic_carbon", "each", 600, 1100, 2000, "backwashing filter of catalytic carbon", noSource},
	{"equipment/aeration", "each", 500, 1000, 2000, "air chamber with pump and vent", noSource},
	{"equipment/aeration/open_tank", "each", 800, 1800, 4000, "open tank with spray, level switch and repump", noSource},
	{"equipment/oxidant_feed", "each", 500, 1000, 2000, "metering pump, solution tank and contact tank", noSource},
	{"equipment/oxidizing_media_filter", "each", 800, 1800, 3500, "oxidizing media filter", "ledger G08; " + noSource},
	{"equipment/softener", "each", 600, 1500, 3000, "softener", "ledger G03; " + noSource},
	{"equipment/acid_neutralizer", "each", 500, 900, 1500, "acid neutralizer", "ledger G09; " + noSource},
	{"equipment/degasser", "each", 800, 2000, 4000, "degassing tower or membrane with break tank and repump", noSource},
	{"equipment/reverse_osmosis", "each", 500, 1200, 3500, "reverse osmosis, 300 to 1,500 gal a day", "ledger G05; " + noSource},
	{"equipment/reverse_osmosis/tap_pressure/membrane_1812", "each", 400, 800, 1500, "reverse osmosis at tap pressure with tank and repump", noSource},
	{"equipment/reverse_osmosis/pumped/membrane_1812", "each", 600, 1200, 2500, "pumped reverse osmosis with tank and repump", "ledger G05; " + noSource},
	{"equipment/reverse_osmosis/pumped/membrane_4040", "each", 1500, 2800, 5000, "pumped reverse osmosis, 4 in membrane, with tank and repump", noSource},
	{"equipment/organics_trap", "each", 700, 1600, 3200, "organics trap", noSource},
	{"equipment/disinfection", "each", 300, 700, 1500, "ultraviolet lamp or bleach feed", noSource},

	// What stages use up, by the kilogram of the substance that acts.
	{"use/salt", "lb", 0.15, 0.22, 0.35, "salt", "ledger G04; " + noSource},
	{"use/bleach", "kg", 8, 15, 25, "bleach, by its chlorine", noSource},
	{"use/potassium_permanganate", "kg", 8, 12, 20, "potassium permanganate", noSource},

	// Spare parts.
	{"part/cartridge_10in", "each", 5, 10, 20, "2.5 x 10 in cartridge", "ledger G07; " + noSource},
	{"part/cartridge_20in", "each", 8, 15, 30, "2.5 x 20 in cartridge", "ledger G07; " + noSource},
	{"part/cartridge_10in_wide", "each", 12, 20, 35, "4.5 x 10 in cartridge", "ledger G07; " + noSource},
	{"part/cartridge_20in_wide", "each", 20, 35, 60, "4.5 x 20 in cartridge", "ledger G07; " + noSource},
	{"part/carbon_block", "each", 25, 45, 80, "4.5 x 20 in carbon block", noSource},
	{"part/filter_medium", "ft3", 40, 80, 150, "filter medium", noSource},
	{"part/carbon", "ft3", 80, 120, 200, "granular carbon", noSource},
	{"part/catalytic_carbon", "ft3", 180, 280, 400, "catalytic carbon", noSource},
	{"part/medium_coated_permanganate", "ft3", 120, 180, 280, "manganese-dioxide-coated medium", noSource},
	{"part/medium_catalytic_air", "ft3", 120, 180, 280, "air-catalysed medium", noSource},
	{"part/medium_manganese_dioxide", "ft3", 250, 400, 600, "solid manganese dioxide", noSource},
	{"part/softening_resin", "ft3", 90, 150, 250, "softening resin", noSource},
	{"part/trap_resin", "ft3", 150, 250, 400, "organics-trap resin", noSource},
	{"part/air_pump", "each", 80, 150, 250, "air pump", noSource},
	{"part/repump", "each", 200, 350, 600, "repump", noSource},
	{"part/pump_tube", "each", 20, 40, 80, "tube or diaphragm of a metering pump", noSource},
	{"part/calcite", "lb", 0.6, 0.9, 1.2, "calcite", "ledger G09; " + noSource},
	{"part/calcite_magnesia", "lb", 0.8, 1.2, 1.8, "calcite and magnesia", noSource},
	{"part/uv_lamp", "each", 50, 90, 160, "ultraviolet lamp", noSource},
	{"part/membrane_1812", "each", 30, 60, 100, "residential membrane", "ledger G06; " + noSource},
	{"part/membrane_2540", "each", 120, 200, 300, "2.5 x 40 in membrane", noSource},
	{"part/membrane_4040", "each", 150, 250, 350, "4 in membrane", "ledger G06; " + noSource},
}

// equipmentCount is how many times the price of its key a piece of equipment
// costs. Tanks are priced at 10 in and follow the six-tenths rule of plant
// costing, price by area to the power 0.6 (from memory; Williams, Chem. Eng.
// 54 (1947) 124); so do the elements of a reverse osmosis. Other units in
// parallel cost each the same.
func equipmentCount(s process.Stage, z *process.Size) float64 {
	const sixTenths = 0.6
	n := float64(z.Units)
	if s.Kind() == process.ReverseOsmosis {
		return math.Pow(n, sixTenths)
	}
	inches, ok := strings.CutPrefix(z.Class, "tank_")
	if !ok {
		return n
	}
	d, err := strconv.ParseFloat(strings.TrimSuffix(inches, "in"), 64)
	if err != nil {
		return n
	}
	return n * math.Pow(d*d/100, sixTenths)
}

// Prices are the prices of a rig, each as a range in its currency.
type Prices struct {
	Currency string
	Year     int
	rate     float64 // units of the currency for one US dollar
	rows     map[string]priceRange
}

// priceRange is a price for one base unit (litre, kilogram, kWh, hour, year or
// piece).
type priceRange struct {
	bed.Interval
	stated bool
}

// prices settles the prices of a rig.
func (s *settler) prices(d *PriceDocument, vessels []RigVessel) Prices {
	p := Prices{rows: map[string]priceRange{}}
	p.Currency = s.currency(d, vessels)
	p.Year = take(s, d.Year, 2024, "/prices/year", "year of the prices", "2024")
	s.within("/prices/year", float64(p.Year), 1990, 2100, "state the year of the prices")
	rate := 1.0
	if p.Currency != "USD" {
		if d.PerUSD == nil {
			s.refuse("/prices/per_usd", "prices in "+p.Currency, "how many "+p.Currency+" one US dollar costs, because the default prices are in USD",
				"add per_usd, such as per_usd: 0.92")
		} else {
			rate = *d.PerUSD
			s.within("/prices/per_usd", rate, 1e-6, 1e6, "state the units of the currency that one US dollar costs")
		}
	}
	p.rate = rate
	for _, r := range priceTable {
		size := unitSize(r.per)
		p.rows[r.key] = priceRange{Interval: bed.Interval{Low: rate * r.low / size, Typical: rate * r.typical / size, High: rate * r.up / size}}
	}
	stated := s.stated(d)
	for _, key := range slices.Sorted(maps.Keys(stated)) {
		x := stated[key]
		for other := range p.rows { // the owner's price stands for every size and variant it covers
			if _, own := stated[other]; !own && strings.HasPrefix(other, key+"/") {
				delete(p.rows, other)
			}
		}
		p.rows[key] = priceRange{Interval: bed.Interval{Low: x, Typical: x, High: x}, stated: true}
	}
	for _, r := range priceTable {
		if strings.Contains(r.key, "/") || p.rows[r.key].stated {
			continue // equipment is listed with the stage that needs it
		}
		s.assume("/prices/"+r.key, "price: "+r.title, priceText(r, rate, p.Currency), r.source)
	}
	return p
}

func priceText(r priceRow, rate float64, currency string) string {
	per := ""
	if r.per != "each" {
		per = "/" + r.per
	}
	if r.low == r.up {
		return fmt.Sprintf("%.4g %s%s", rate*r.typical, currency, per)
	}
	return fmt.Sprintf("%.4g %s%s (%.4g to %.4g)", rate*r.typical, currency, per, rate*r.low, rate*r.up)
}

func unitSize(name string) float64 {
	for _, u := range perUnits {
		if u.name == name {
			return u.size
		}
	}
	panic("no unit " + name) // a slip in priceTable; the tests meet it
}

// currency returns the one currency of a rig and refuses a second one.
func (s *settler) currency(d *PriceDocument, vessels []RigVessel) string {
	type place struct{ field, currency string }
	var seen []place
	note := func(field string, p *Price) {
		if p != nil {
			seen = append(seen, place{field, p.Currency})
		}
	}
	for _, f := range d.fields() {
		note("/prices/"+f.key, f.price)
	}
	for _, m := range []struct {
		name  string
		items map[string]Price
	}{{"items", d.Items}, {"equipment", d.Equipment}} {
		for _, key := range slices.Sorted(maps.Keys(m.items)) {
			price := m.items[key]
			note("/prices/"+m.name+"/"+pointer(key), &price)
		}
	}
	for i := range vessels {
		note(fmt.Sprintf("/vessels/%d/price", i), vessels[i].Price)
		note(fmt.Sprintf("/vessels/%d/fill_price", i), vessels[i].FillPrice)
	}
	var currency string
	switch {
	case d.Currency != nil:
		currency = *d.Currency
	case len(seen) > 0:
		currency = seen[0].currency
	default:
		currency = "USD"
		s.assume("/prices/currency", "currency", "USD", habit)
	}
	for _, p := range seen {
		if p.currency != currency {
			s.refuse(p.field, "a price in "+p.currency, "all prices in "+currency, "convert it; two currencies are never mixed")
		}
	}
	return currency
}

type priceField struct {
	key, family string
	price       *Price
}

func (d *PriceDocument) fields() []priceField {
	return []priceField{
		{"resin", "volume", d.Resin}, {"exchange", "volume", d.Exchange}, {"water", "volume", d.Water}, {"sewer", "volume", d.Sewer},
		{"labour", "time", d.Labour}, {"resin_disposal", "volume", d.Disposal}, {"di_water", "volume", d.DIWater},
	}
}

// stated returns the prices that the document states, by key and for one base
// unit.
func (s *settler) stated(d *PriceDocument) map[string]float64 {
	m := map[string]float64{}
	put := func(field, key, family string, p *Price) {
		x, err := p.in(family)
		if err != nil {
			s.refuse(field, p.Text, "a price per "+family, "state it for a unit of "+family)
			return
		}
		m[key] = x
	}
	for _, f := range d.fields() {
		if f.price != nil {
			put("/prices/"+f.key, f.key, f.family, f.price)
		}
	}
	for _, key := range slices.Sorted(maps.Keys(d.Items)) {
		price := d.Items[key]
		row, ok := defaultPrice(key)
		if !ok {
			s.refuse("/prices/items/"+pointer(key), key, "one of "+strings.Join(priceKeys(), ", "), "use a name of that list")
			continue
		}
		put("/prices/items/"+pointer(key), key, family(row.per), &price)
	}
	for _, key := range slices.Sorted(maps.Keys(d.Equipment)) {
		price, field, key := d.Equipment[key], "/prices/equipment/"+pointer(key), "equipment/"+key
		if _, ok := defaultPrice(key); !ok || !isStage(strings.TrimPrefix(key, "equipment/")) {
			s.refuse(field, strings.TrimPrefix(key, "equipment/"), "a kind of stage, or kind/variant, or kind/variant/size", "use the key that the plan prints beside the stage")
			continue
		}
		put(field, key, "piece", &price)
	}
	return m
}

// isStage reports whether the catalogue has the kind, and the variant if one is
// named, of a key such as "softener/salt_6/tank_10in".
func isStage(key string) bool {
	parts := strings.Split(key, "/")
	return slices.ContainsFunc(process.Catalogue(), func(s process.Stage) bool {
		return string(s.Kind()) == parts[0] && (len(parts) == 1 || s.Variant() == parts[1])
	})
}

// pointer escapes a key for a JSON pointer (RFC 6901).
func pointer(key string) string { return strings.NewReplacer("~", "~0", "/", "~1").Replace(key) }

func family(per string) string {
	for _, u := range perUnits {
		if u.name == per {
			return u.family
		}
	}
	return ""
}

// defaultPrice returns the row of the longest key that key begins with, taking
// whole parts: "softener/salt_6/10x54" is found as itself, as "softener/salt_6"
// or as "softener".
func defaultPrice(key string) (priceRow, bool) {
	for {
		for _, r := range priceTable {
			if r.key == key {
				return r, true
			}
		}
		cut := strings.LastIndexByte(key, '/')
		if cut < 0 {
			return priceRow{}, false
		}
		key = key[:cut]
	}
}

func priceKeys() []string {
	var keys []string
	for _, r := range priceTable {
		keys = append(keys, r.key)
	}
	return keys
}

// find returns the price of the longest key that key begins with.
func (p *Prices) find(key string) (priceRange, bool) { return findPrice(p.rows, key) }

// findPrice returns the entry of the longest key that key begins with.
func findPrice[T any](rows map[string]T, key string) (T, bool) {
	for {
		r, ok := rows[key]
		cut := strings.LastIndexByte(key, '/')
		if ok || cut < 0 {
			return r, ok
		}
		key = key[:cut]
	}
}

// median of the range, which is drawn as a triangle with its mode at Typical.
// Ranges of prices are skewed; the sum of many modes would lie far below the
// middle of the sum.
func (r priceRange) median() float64 {
	width := r.High - r.Low
	if width <= 0 {
		return r.Typical
	}
	if left := (r.Typical - r.Low) / width; left < 0.5 {
		return r.High - width*math.Sqrt(0.5*(1-left))
	}
	return r.Low + math.Sqrt(0.5*width*(r.Typical-r.Low))
}

// draw returns n prices of one key. The same key and seed give the same
// prices whatever else is drawn, so that two plans are compared at the same
// prices.
func (r priceRange) draw(key string, n int, seed uint64) []float64 {
	h := fnv.New64a()
	h.Write([]byte(key))
	rng := rand.New(rand.NewPCG(seed, h.Sum64()))
	out := make([]float64, n)
	for i := range out {
		out[i] = r.Interval.Draw(rng)
	}
	return out
}

// pumping is the electricity of the well pump. Source: treatment ledger G11,
// computed: 50 m of lift, 40 psi, 40 % of the electricity becoming lift.
var pumping = bed.Interval{
	Low:     1 / float64(unit.Gallons(1000)),
	Typical: 1.5 / float64(unit.Gallons(1000)),
	High:    3 / float64(unit.Gallons(1000)),
} // kWh per litre
