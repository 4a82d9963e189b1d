package schemas

import (
	"errors"
	"strings"
	"testing"
)

const good = `{
  "version": "forebed.analysis/1",
  "samples": [{"results": [{"analyte": "iron", "value": 1.2, "unit": "mg/L"}]}]
}`

func TestDecode(t *testing.T) {
	var doc struct {
		Samples []struct {
			Results []struct {
				Analyte string
				Value   float64
			}
		}
	}
	for name, text := range map[string]string{
		"json": good,
		"yaml": "version: forebed.analysis/1\nsamples:\n- results:\n  - analyte: iron\n    value: 1.2\n    unit: mg/L\n",
	} {
		if err := Decode("analysis", name, []byte(text), &doc); err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if r := doc.Samples[0].Results[0]; r.Analyte != "iron" || r.Value != 1.2 {
			t.Errorf("%s: decoded %+v", name, r)
		}
	}
}

// Each case is a wrong document and the place and words of its error.
func TestProblems(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"empty", " \n", "found an empty document"},
		{"not UTF-8", "\xff\xfe{}", "not UTF-8"},
		{"cut off", "{\"version\": \"forebed.analysis/1\",\n", "1:34: found the end of the document"},
		{"trailing text", good + "\nx", "5:1: found more text"},
		{"wrong type", strings.Replace(good, "1.2", `"1.2"`, 1), "f:3:48: /samples/0/results/0/value: found \"1.2\""},
		{"unknown field", strings.Replace(good, `"unit"`, `"units"`, 1), "f:3:62: /samples/0/results/0/units: found the field \"units\""},
		{"missing field", strings.Replace(good, `"analyte": "iron", `, "", 1), "add the field \"analyte\""},
		{"duplicate key", strings.Replace(good, `"unit": "mg/L"`, `"value": 3`, 1), "the field \"value\" a second time"},
		{"YAML duplicate key", "version: a\nversion: b\n", "2:1: found the field \"version\" a second time"},
		{"YAML bad indentation", "version: a\n samples: [\n", "f:"},
		{"YAML alias", "version: &a x\nsamples: *a\n", "1:"},
		{"YAML not a number", "version: .nan\n", "expected a finite number"},
		{"YAML infinity", "version: -.inf\n", "expected a finite number"},
		{"YAML type", "version: forebed.analysis/1\nsamples:\n- results:\n  - analyte: iron\n    value: much\n", "f:5:5: /samples/0/results/0/value: found \"much\""},
		{"huge number", `{"version": 1` + strings.Repeat("0", 100) + "}", "a number of 101 characters"},
		{"overflow", `{"version": 1e999}`, "expected a finite number"},
		{"deep", strings.Repeat("[", 100), "nested deeper"},
		{"deep YAML", strings.Repeat("- ", 100) + "x", "nested deeper"},
	} {
		err := Validate("analysis", "f", []byte(c.text))
		if err == nil {
			t.Errorf("%s: accepted", c.name)
			continue
		}
		if !errors.Is(err, ErrInvalid) {
			t.Errorf("%s: the error is not ErrInvalid: %v", c.name, err)
		}
		if !strings.Contains(err.Error(), c.want) || !strings.Contains(err.Error(), "\n  try: ") {
			t.Errorf("%s: error is\n%v\nwant it to hold %q and a remedy", c.name, err, c.want)
		}
	}
}

// The error of a document with several unknown fields names all of them, in
// the same order each time.
func TestUnknownFieldsInOrder(t *testing.T) {
	text := []byte(strings.Replace(good, `"unit"`, `"zeta": 1, "alpha": 2, "mu": 3, "unit"`, 1))
	first := Validate("analysis", "f", text)
	for _, name := range []string{"zeta", "alpha", "mu"} {
		if first == nil || !strings.Contains(first.Error(), name) {
			t.Fatalf("%s is not named: %v", name, first)
		}
	}
	for range 20 {
		if err := Validate("analysis", "f", text); err.Error() != first.Error() {
			t.Fatalf("two errors for one document:\n%v\n%v", first, err)
		}
	}
}

func TestSchemasCompile(t *testing.T) {
	for _, name := range Names() {
		if _, ok := compiled()[name]; !ok {
			t.Errorf("%s does not compile", name)
		}
	}
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{good, "a: [1, 2]\nb: {c: d}\n", "- x\n- y: 1.5e3\n", "a: |\n  text\n", "? x\n: y\n", "a: !!str 1\n", "{\"a\": [1, {\"b\": null}]}"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		tree, err := Parse("f", data)
		if err == nil && tree.Value == nil && tree.places[""] == [2]int{} && len(tree.places) == 0 {
			t.Fatal("no value and no error")
		}
	})
}
