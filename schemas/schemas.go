package schemas

import (
	"bytes"
	"embed"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"slices"
	"strings"
	"sync"

	"github.com/santhosh-tekuri/jsonschema/v5"
)

//go:embed *.schema.json
var files embed.FS

const suffix = ".schema.json"

// Names lists the documents that have a schema, in alphabetical order.
func Names() []string {
	entries, err := fs.ReadDir(files, ".")
	if err != nil {
		panic(err) // the embedded folder always exists
	}
	var names []string
	for _, e := range entries {
		names = append(names, strings.TrimSuffix(e.Name(), suffix))
	}
	slices.Sort(names)
	return names
}

// Source returns the text of a document's schema, and whether there is one.
func Source(name string) ([]byte, bool) {
	b, err := files.ReadFile(name + suffix)
	return b, err == nil
}

// ErrInvalid is the sentinel of every fault that Decode finds.
var ErrInvalid = errors.New("the document is not valid")

// compiled holds the schemas, compiled on first use and never changed.
var compiled = sync.OnceValue(func() map[string]*jsonschema.Schema {
	m := map[string]*jsonschema.Schema{}
	for _, name := range Names() {
		src, _ := Source(name)
		c := jsonschema.NewCompiler()
		c.Draft = jsonschema.Draft2020
		c.ExtractAnnotations = true
		c.LoadURL = nil
		url := "forebed:" + name
		if err := c.AddResource(url, bytes.NewReader(src)); err != nil {
			panic(fmt.Sprintf("schema %s: %v", name, err))
		}
		m[name] = c.MustCompile(url)
	}
	return m
})

// Decode checks data, YAML or JSON, against the schema of the document name
// and decodes it into v, a pointer to a struct with json tags. file is what
// the user called the input. The error is a Problems with every fault found.
func Decode(name, file string, data []byte, v any) error {
	_, err := DecodeTree(name, file, data, v)
	return err
}

// DecodeTree is Decode that also returns the parsed document, so that a caller
// with checks of its own can say where each field stands.
func DecodeTree(name, file string, data []byte, v any) (*Tree, error) {
	schema, ok := compiled()[name]
	if !ok {
		return nil, fmt.Errorf("there is no schema called %q", name)
	}
	tree, err := Parse(file, data)
	if err != nil {
		return nil, err
	}
	if err := schema.Validate(tree.Value); err != nil {
		return tree, tree.explain(err)
	}
	if v == nil {
		return tree, nil
	}
	b, err := json.Marshal(tree.Value)
	if err != nil {
		return tree, fmt.Errorf("%s: %w", file, err)
	}
	if err := json.Unmarshal(b, v); err != nil {
		return tree, tree.typeProblem(err)
	}
	return tree, nil
}

// Validate is Decode without a target.
func Validate(name, file string, data []byte) error { return Decode(name, file, data, nil) }

// explain turns the leaves of a validation error into problems with places.
func (t *Tree) explain(err error) error {
	var ve *jsonschema.ValidationError
	if !errors.As(err, &ve) {
		return fmt.Errorf("%s: %w", t.File, err)
	}
	var ps Problems
	var walk func(e *jsonschema.ValidationError)
	walk = func(e *jsonschema.ValidationError) {
		if len(e.Causes) == 0 {
			ps = append(ps, t.leaves(e)...)
			return
		}
		causes := e.Causes
		if strings.HasSuffix(e.KeywordLocation, "/oneOf") || strings.HasSuffix(e.KeywordLocation, "/anyOf") {
			causes = deepest(causes)
		}
		for _, c := range causes {
			walk(c)
		}
	}
	walk(ve)
	return ps.Sorted().Err()
}

// deepest keeps, of the ways a choice failed, the one that got furthest into
// the document: that is the one its author meant.
func deepest(causes []*jsonschema.ValidationError) []*jsonschema.ValidationError {
	var depth func(e *jsonschema.ValidationError) int
	depth = func(e *jsonschema.ValidationError) int {
		d := strings.Count(e.InstanceLocation, "/")
		for _, c := range e.Causes {
			d = max(d, depth(c))
		}
		return d
	}
	best := slices.MaxFunc(causes, func(a, b *jsonschema.ValidationError) int { return depth(a) - depth(b) })
	return []*jsonschema.ValidationError{best}
}

// leaves makes the problems for one failed keyword: one for every field that is
// unknown, else one. (The validator lists unknown fields in any order.)
func (t *Tree) leaves(e *jsonschema.ValidationError) []Problem {
	names := quoted(e.Message)
	if !strings.HasSuffix(e.KeywordLocation, "/additionalProperties") || len(names) < 2 {
		return []Problem{t.leaf(e)}
	}
	slices.Sort(names)
	var ps []Problem
	for _, name := range names {
		one := *e
		one.Message = "'" + strings.NewReplacer(`\`, `\\`, "'", `\'`).Replace(name) + "'"
		ps = append(ps, t.leaf(&one))
	}
	return ps
}

// leaf makes the problem for one failed keyword.
func (t *Tree) leaf(e *jsonschema.ValidationError) Problem {
	pointer := e.InstanceLocation
	found := brief(t.at(pointer))
	keyword := e.KeywordLocation[strings.LastIndexByte(e.KeywordLocation, '/')+1:]
	want, remedy := e.Message, ""
	switch keyword {
	case "additionalProperties":
		if name := firstQuoted(e.Message); name != "" {
			pointer += "/" + escape(name)
			found = fmt.Sprintf("the field %q", name)
			want = "one of the fields of this document"
			remedy = fmt.Sprintf("delete %q or correct its spelling; the schema lists every field (forebed schema)", name)
		}
	case "required":
		found = "no field " + firstQuoted(e.Message)
		want = "it to be there"
		remedy = fmt.Sprintf("add the field %q", firstQuoted(e.Message))
	case "enum", "const":
		want = strings.TrimPrefix(e.Message, "value must be ")
		remedy = "use one of the values named"
	case "type":
		want = strings.TrimPrefix(e.Message, "expected ")
		if i := strings.Index(want, ", but got"); i >= 0 {
			want = "a value of type " + want[:i]
		}
	case "pattern":
		want = "text of the form that is shown below"
	default:
		want = strings.TrimPrefix(e.Message, "must be ")
		if i := strings.Index(want, " but found"); i >= 0 {
			want = want[:i]
		}
	}
	if remedy == "" {
		remedy = "correct the value"
		if d := describe(e.AbsoluteKeywordLocation); d != "" {
			remedy = "give " + lowerFirst(d)
		}
	}
	p := Problem{File: t.File, Field: pointer, Found: found, Want: want, Remedy: remedy, Err: ErrInvalid}
	p.Line, p.Column = t.Place(pointer)
	return p
}

// describe returns the description of the schema whose keyword stands at the
// absolute location, such as "forebed:rig#/properties/use/minimum".
func describe(location string) string {
	url, pointer, _ := strings.Cut(location, "#")
	src, ok := Source(strings.TrimPrefix(url, "forebed:"))
	if !ok {
		return ""
	}
	var v any
	if json.Unmarshal(src, &v) != nil {
		return ""
	}
	parts := strings.Split(strings.TrimPrefix(pointer, "/"), "/")
	for _, p := range parts[:len(parts)-1] {
		m, ok := v.(map[string]any)
		if !ok {
			return ""
		}
		v = m[unescape(p)]
	}
	m, _ := v.(map[string]any)
	d, _ := m["description"].(string)
	return strings.TrimSuffix(d, ".")
}

// typeProblem places an error of the JSON decoder.
func (t *Tree) typeProblem(err error) error {
	var te *json.UnmarshalTypeError
	if !errors.As(err, &te) {
		return Problems{{File: t.File, Found: err.Error(), Want: "a document of this kind", Remedy: "compare it with the schema (forebed schema)", Err: ErrInvalid}}
	}
	pointer := "/" + strings.ReplaceAll(te.Field, ".", "/")
	p := Problem{File: t.File, Field: pointer, Found: "a " + te.Value, Want: "a value of type " + te.Type.String(), Remedy: "correct the value", Err: ErrInvalid}
	p.Line, p.Column = t.Place(pointer)
	return Problems{p}
}

// brief prints a value for a message, at most 60 characters of it.
func brief(v any) string {
	switch v.(type) {
	case map[string]any:
		return "a group of fields"
	case []any:
		return "a list"
	}
	b, err := json.Marshal(v)
	if err != nil {
		return fmt.Sprint(v)
	}
	s := []rune(string(b))
	if len(s) > 60 {
		return string(s[:57]) + "..."
	}
	return string(s)
}

func firstQuoted(s string) string {
	if names := quoted(s); len(names) > 0 {
		return names[0]
	}
	return ""
}

// quoted returns what stands between single quotes; a quote or a backslash
// within is written behind a backslash.
func quoted(s string) []string {
	var names []string
	for {
		_, rest, ok := strings.Cut(s, "'")
		if !ok {
			return names
		}
		var name strings.Builder
		for i := 0; ; i++ {
			if i == len(rest) {
				return names
			}
			if rest[i] == '\'' {
				s = rest[i+1:]
				break
			}
			if rest[i] == '\\' && i+1 < len(rest) && (rest[i+1] == '\'' || rest[i+1] == '\\') {
				i++
			}
			name.WriteByte(rest[i])
		}
		names = append(names, name.String())
	}
}

func lowerFirst(s string) string {
	if len(s) > 1 && s[1] >= 'a' && s[1] <= 'z' {
		return strings.ToLower(s[:1]) + s[1:]
	}
	return s
}
