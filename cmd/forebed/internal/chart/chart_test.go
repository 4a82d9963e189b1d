package chart

import (
	"encoding/xml"
	"errors"
	"io"
	"strings"
	"testing"
)

// wellFormed reads the whole picture as XML.
func wellFormed(t *testing.T, name, svg string) {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(svg))
	for {
		_, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatalf("%s is not well formed: %v\n%s", name, err, svg)
		}
	}
	for _, want := range []string{"<title", "<desc", `role="img"`} {
		if !strings.Contains(svg, want) {
			t.Errorf("%s has no %s", name, want)
		}
	}
	if strings.Contains(svg, "style=") || strings.Contains(svg, "<script") {
		t.Errorf("%s has inline style or script", name)
	}
}

const hostile = `<script>alert("x")</script> & "quotes" ' and` + "\u202e"

func TestPicturesAreWellFormed(t *testing.T) {
	points := [][2]float64{{0, 0}, {100, 2}, {400, 60}, {500, 110}}
	wellFormed(t, "curve", Curve{ID: "a", Title: hostile, Desc: hostile, XLabel: hostile, YLabel: hostile,
		Lines:  []Line{{Name: hostile, Points: points}, {Name: "empty"}, {Name: hostile, Points: points, Dots: true}},
		Bands:  []Band{{"b", points, points}},
		Levels: []Level{{hostile, 10}}, Marks: []Mark{{hostile, 300}}}.SVG())
	wellFormed(t, "ions", Ions{ID: "b", Title: hostile, Rows: []IonRow{{hostile, []Segment{{hostile, 4, false}, {"SiO2", 0.2, true}, {"none", 0, false}}}}}.SVG())
	wellFormed(t, "ranges", Ranges{ID: "c", Title: hostile, Unit: "gal", Rows: []RangeRow{{hostile, 1, 2, 3, hostile}}}.SVG())
	wellFormed(t, "train", Train{ID: "d", Title: hostile, Boxes: []Box{{hostile, Source, []string{hostile}}, {"x", Stage, nil}, {"y", Vessel, nil}, {"z", Outlet, nil}, {"q", Outlet, nil}}}.SVG())
}

// What was measured stands as dots, and none where the chart does not reach.
func TestDots(t *testing.T) {
	svg := Curve{ID: "a", YTop: 20, Lines: []Line{{Name: "read", Points: [][2]float64{{0, 0}, {10, 3}, {20, 99}}, Dots: true}}}.SVG()
	if n := strings.Count(svg, "<circle "); n != 2 || strings.Contains(svg, "<path ") {
		t.Errorf("%d dots, expected 2 and no line: %s", n, svg)
	}
}

func TestTicksAreRoundAndCover(t *testing.T) {
	for _, top := range []float64{0.003, 0.7, 1, 3, 9.9, 10, 42, 624, 10001, 3.3e6} {
		ts := ticks(top, 5)
		if last := ts[len(ts)-1]; last < top {
			t.Errorf("ticks to %v end at %v", top, last)
		}
		if len(ts) > 8 {
			t.Errorf("ticks to %v are %d", top, len(ts))
		}
	}
}
