package water_test

import (
	"strconv"

	"forebed/chem/analyte"
	"forebed/chem/unit"
)

func analyteID(s string) analyte.ID { return analyte.ID(s) }

func basis(s string) analyte.Basis { return analyte.Basis(s) }

func defaultUnit(id analyte.ID) unit.Unit { return analyte.Must(id).Default }

func number(s string) *float64 {
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		panic(err)
	}
	return &v
}
