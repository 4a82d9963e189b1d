package render

import (
	"bytes"
	"strings"
	"testing"
)

func TestFigures(t *testing.T) {
	for _, c := range []struct {
		v    float64
		n    int
		want string
	}{
		{0, 3, "0"}, {0.00123, 2, "0.0012"}, {0.0999, 2, "0.1"}, {1.005, 3, "1"}, {9.96, 2, "10"}, {12.34, 3, "12.3"},
		{99.96, 3, "100"}, {428.4, 2, "430"}, {9999, 3, "10,000"}, {1234567, 3, "1,230,000"}, {-0.0456, 2, "-0.046"}, {7.2, 2, "7.2"},
	} {
		if got := Figures(c.v, c.n); got != c.want {
			t.Errorf("Figures(%v, %d) = %q, want %q", c.v, c.n, got, c.want)
		}
	}
}

func TestMoney(t *testing.T) {
	for v, want := range map[float64]string{0: "$0.00", 3.4: "$3.40", 436.4: "$436", 12345: "$12,300", -57: "-$57"} {
		if got := Money("USD", v); got != want {
			t.Errorf("Money(%v) = %q, want %q", v, got, want)
		}
	}
	if got := Money("EUR", 250); got != "EUR 250" {
		t.Errorf("Money(EUR, 250) = %q", got)
	}
}

// hostile is text that a report may hold.
const hostile = "<script>alert(1)</script> | `x` *y* \x1b[31m \u202e [z](http://example.invalid)"

func everyBlock() []Block {
	d := &draft{}
	d.title(hostile)
	d.lead(hostile)
	d.heading("The heading")
	d.para(hostile)
	d.fact("label", hostile)
	d.toned(Care, hostile)
	d.sub(hostile)
	d.entry(hostile)
	d.detail("size", hostile)
	d.table([]string{"a", ">b"}, [][]string{{hostile, "1"}, {"short", hostile}})
	d.add(Block{Kind: Picture, SVG: "<svg></svg>", Text: "drawn\n"})
	return d.blocks
}

// No printer lets markup, terminal escapes or bidirectional marks through.
func TestPrintersAreInert(t *testing.T) {
	for name, print := range map[string]func(*bytes.Buffer) error{
		"text":     func(b *bytes.Buffer) error { return Text(b, everyBlock()) },
		"markdown": func(b *bytes.Buffer) error { return Markdown(b, everyBlock()) },
		"html":     func(b *bytes.Buffer) error { return HTML(b, everyBlock()) },
	} {
		var b bytes.Buffer
		if err := print(&b); err != nil {
			t.Fatal(err)
		}
		out := b.String()
		for _, bad := range []string{"\x1b", "\u202e"} {
			if strings.Contains(out, bad) {
				t.Errorf("%s lets %q through", name, bad)
			}
		}
		if name != "text" && strings.Contains(out, "<script>") {
			t.Errorf("%s lets markup through", name)
		}
		if name == "markdown" && strings.Contains(out, "[z](") {
			t.Errorf("markdown lets a link through")
		}
	}
}

func TestTextIsWrappedAndTrimmed(t *testing.T) {
	var b bytes.Buffer
	if err := Text(&b, []Block{{Kind: Fact, Label: "Long", Text: strings.Repeat("word ", 60)}, {Kind: Table, Head: []string{"", ">n"}, Rows: [][]string{{"a", ""}, {"b", "1"}}}}); err != nil {
		t.Fatal(err)
	}
	for l := range strings.Lines(b.String()) {
		l = strings.TrimSuffix(l, "\n")
		if len(l) > width {
			t.Errorf("line of %d columns: %q", len(l), l)
		}
		if strings.TrimRight(l, " ") != l {
			t.Errorf("blanks at the end of %q", l)
		}
	}
}
