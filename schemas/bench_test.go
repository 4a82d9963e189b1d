package schemas

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"
)

// BenchmarkDecode reads an analysis of 50 results through schema, places and
// bounds, beside plain decoding of the same bytes.
func BenchmarkDecode(b *testing.B) {
	result := `{"analyte":"iron","fraction":"dissolved","value":0.31,"low":null,"high":null,"nondetect":false,"limit":null,"unit":"mg/L","basis":null,"as_written":"0.31"}`
	doc := []byte(fmt.Sprintf(`{"version":"forebed.analysis/1","samples":[{"label":"well","results":[%s]}]}`, strings.TrimSuffix(strings.Repeat(result+",", 50), ",")))
	for _, c := range []struct {
		name   string
		decode func() error
	}{
		{"checked", func() error { var v any; return Decode("analysis", "a.json", doc, &v) }},
		{"plain", func() error { var v any; return json.Unmarshal(doc, &v) }},
	} {
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			b.SetBytes(int64(len(doc)))
			for b.Loop() {
				if err := c.decode(); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
