package schemas

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
	"github.com/goccy/go-yaml/token"
)

// Limits of a document, named in the errors that they cause.
const (
	MaxBytes = 16 << 20 // of one JSON document; as much as a report may have
	MaxYAML  = 1 << 20  // of one YAML document, which is slower to read and written by hand
	MaxDepth = 40       // of nested groups and lists
	MaxDigit = 40       // characters of one number
)

// Tree is a parsed document: its value, and where each part of it stands.
type Tree struct {
	File   string
	Value  any // map[string]any, []any, json.Number, string, bool or nil
	places map[string][2]int
}

// Place returns the line and column of a JSON pointer, or of its nearest
// parent that stands in the document; 0, 0 for the document itself.
func (t *Tree) Place(pointer string) (line, column int) {
	for {
		if p, ok := t.places[pointer]; ok {
			return p[0], p[1]
		}
		i := strings.LastIndexByte(pointer, '/')
		if i < 0 {
			return 0, 0
		}
		pointer = pointer[:i]
	}
}

// at returns the value at a JSON pointer, or nil.
func (t *Tree) at(pointer string) any {
	v := t.Value
	for _, p := range strings.Split(strings.TrimPrefix(pointer, "/"), "/") {
		switch x := v.(type) {
		case map[string]any:
			if pointer != "" {
				v = x[unescape(p)]
			}
		case []any:
			i, err := strconv.Atoi(p)
			if err != nil || i < 0 || i >= len(x) {
				return nil
			}
			v = x[i]
		}
	}
	return v
}

// The escapes of a JSON pointer, RFC 6901.
var escaper, unescaper = strings.NewReplacer("~", "~0", "/", "~1"), strings.NewReplacer("~1", "/", "~0", "~")

func escape(s string) string   { return escaper.Replace(s) }
func unescape(s string) string { return unescaper.Replace(s) }

// Parse reads YAML or JSON, told apart by content, without validating it.
// Anchors, aliases, duplicate keys, numbers that are not finite, and documents
// beyond the limits of this package are refused.
func Parse(file string, data []byte) (*Tree, error) {
	t := &Tree{File: file, places: map[string][2]int{}}
	switch {
	case len(data) > MaxBytes:
		return nil, t.fault(0, 0, fmt.Sprintf("%d bytes", len(data)), fmt.Sprintf("at most %d", MaxBytes), "split the document")
	case !utf8.Valid(data):
		return nil, t.fault(0, 0, "bytes that are not UTF-8", "UTF-8 text", "save the file as UTF-8")
	case len(bytes.TrimSpace(data)) == 0:
		return nil, t.fault(0, 0, "an empty document", "YAML or JSON", "give the file a content; see the examples in testdata/examples")
	}
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	var err error
	switch c := bytes.TrimLeft(data, " \t\r\n")[0]; {
	case c == '{' || c == '[':
		err = t.parseJSON(data)
	case len(data) > MaxYAML:
		return nil, t.fault(0, 0, fmt.Sprintf("%d bytes of YAML", len(data)), fmt.Sprintf("at most %d", MaxYAML), "split the document, or write it as JSON")
	default:
		err = t.parseYAML(data)
	}
	if err != nil {
		return nil, err
	}
	return t, nil
}

func (t *Tree) fault(line, column int, found, want, remedy string) Problems {
	return Problems{{File: t.File, Line: line, Column: column, Found: found, Want: want, Remedy: remedy, Err: ErrInvalid}}
}

// parseJSON reads one JSON value token by token, noting where each stands.
func (t *Tree) parseJSON(data []byte) error {
	dec := json.NewDecoder(bytes.NewReader(data))
	dec.UseNumber()
	ends := []int{-1} // offsets of the line ends, so that a place costs a binary search
	for i, c := range data {
		if c == '\n' {
			ends = append(ends, i)
		}
	}
	place := func(offset int64) (line, column int) {
		line, _ = slices.BinarySearch(ends, int(offset))
		return line, int(offset) - ends[line-1]
	}
	// start is the offset of the next token: past blanks and separators.
	start := func() int64 {
		o := dec.InputOffset()
		for o < int64(len(data)) && strings.IndexByte(" \t\r\n,:", data[o]) >= 0 {
			o++
		}
		return o
	}
	fail := func(err error) error {
		line, column := place(min(dec.InputOffset(), int64(len(data))))
		found := "no JSON here: " + err.Error()
		if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
			found = "the end of the document"
		}
		return t.fault(line, column, found, "complete JSON", "check commas, quotes and brackets near here")
	}
	var value func(pointer string, depth int) (any, error)
	value = func(pointer string, depth int) (any, error) {
		o := start()
		line, column := place(o)
		t.places[pointer] = [2]int{line, column}
		if depth > MaxDepth {
			return nil, t.fault(line, column, "groups nested deeper than the limit", fmt.Sprintf("at most %d levels", MaxDepth), "flatten the document")
		}
		tok, err := dec.Token()
		if err != nil {
			return nil, fail(err)
		}
		switch x := tok.(type) {
		case json.Delim:
			if x == '[' {
				list := []any{}
				for i := 0; dec.More(); i++ {
					v, err := value(pointer+"/"+strconv.Itoa(i), depth+1)
					if err != nil {
						return nil, err
					}
					list = append(list, v)
				}
				if _, err := dec.Token(); err != nil {
					return nil, fail(err)
				}
				return list, nil
			}
			m := map[string]any{}
			for dec.More() {
				line, column := place(start())
				key, err := dec.Token()
				if err != nil {
					return nil, fail(err)
				}
				name, ok := key.(string)
				if !ok {
					return nil, fail(errors.New("a field needs a name in quotes"))
				}
				if _, twice := m[name]; twice {
					return nil, t.fault(line, column, fmt.Sprintf("the field %q a second time", name), "each field once", "delete one of the two")
				}
				p := pointer + "/" + escape(name)
				if m[name], err = value(p, depth+1); err != nil {
					return nil, err
				}
				t.places[p] = [2]int{line, column}
			}
			if _, err := dec.Token(); err != nil {
				return nil, fail(err)
			}
			return m, nil
		case json.Number:
			return x, t.checkNumber(x.String(), line, column)
		}
		return tok, nil
	}
	v, err := value("", 0)
	if err != nil {
		return err
	}
	if _, err := dec.Token(); !errors.Is(err, io.EOF) {
		line, column := place(start())
		return t.fault(line, column, "more text after the document", "one document", "delete what follows")
	}
	t.Value = v
	return nil
}

func (t *Tree) checkNumber(s string, line, column int) error {
	if len(s) > MaxDigit {
		return t.fault(line, column, fmt.Sprintf("a number of %d characters", len(s)), fmt.Sprintf("at most %d", MaxDigit), "round the number")
	}
	if _, err := strconv.ParseFloat(s, 64); err != nil {
		return t.fault(line, column, "the number "+s, "a finite number", "correct the number")
	}
	return nil
}

// parseYAML reads one YAML document. Only plain data is accepted.
func (t *Tree) parseYAML(data []byte) error {
	file, err := parser.ParseBytes(data, 0, parser.AllowDuplicateMapKey())
	if err != nil {
		var se yaml.Error
		if errors.As(err, &se) {
			line, column := 0, 0
			if tk := se.GetToken(); tk != nil && tk.Position != nil {
				line, column = tk.Position.Line, tk.Position.Column
			}
			return t.fault(line, column, "no YAML here: "+se.GetMessage(), "plain YAML", "check indentation, colons and quotes near here")
		}
		return t.fault(0, 0, "no YAML: "+firstLine(err.Error()), "plain YAML", "check indentation, colons and quotes")
	}
	var bodies []ast.Node
	for _, d := range file.Docs {
		if d.Body != nil {
			bodies = append(bodies, d.Body)
		}
	}
	switch len(bodies) {
	case 0:
		return t.fault(0, 0, "an empty document", "YAML or JSON", "give the file a content")
	case 1:
	default:
		line, column := position(bodies[1])
		return t.fault(line, column, "a second document", "one document", "keep one document a file")
	}
	t.Value, err = t.yamlValue(bodies[0], "", 0)
	return err
}

func (t *Tree) yamlValue(n ast.Node, pointer string, depth int) (any, error) {
	line, column := position(n)
	if _, ok := t.places[pointer]; !ok {
		t.places[pointer] = [2]int{line, column}
	}
	if depth > MaxDepth {
		return nil, t.fault(line, column, "groups nested deeper than the limit", fmt.Sprintf("at most %d levels", MaxDepth), "flatten the document")
	}
	switch x := n.(type) {
	case *ast.MappingNode:
		return t.yamlMap(x.Values, pointer, depth)
	case *ast.MappingValueNode:
		return t.yamlMap([]*ast.MappingValueNode{x}, pointer, depth)
	case *ast.SequenceNode:
		list := []any{}
		for i, e := range x.Values {
			v, err := t.yamlValue(e, pointer+"/"+strconv.Itoa(i), depth+1)
			if err != nil {
				return nil, err
			}
			list = append(list, v)
		}
		return list, nil
	case *ast.StringNode:
		return x.Value, nil
	case *ast.LiteralNode:
		return x.Value.Value, nil
	case *ast.BoolNode:
		return x.Value, nil
	case *ast.NullNode:
		return nil, nil
	case *ast.IntegerNode, *ast.FloatNode:
		s := strings.ReplaceAll(n.GetToken().Value, "_", "")
		s = strings.TrimPrefix(s, "+")
		if strings.ContainsAny(s, "xXoO") || strings.HasPrefix(s, "0b") {
			return nil, t.fault(line, column, s, "a decimal number", "write the number in decimal")
		}
		if err := t.checkNumber(s, line, column); err != nil {
			return nil, err
		}
		f, _ := strconv.ParseFloat(s, 64)
		return json.Number(strconv.FormatFloat(f, 'g', -1, 64)), nil
	case *ast.InfinityNode, *ast.NanNode:
		return nil, t.fault(line, column, n.GetToken().Value, "a finite number", "correct the number")
	case *ast.AnchorNode, *ast.AliasNode, *ast.TagNode, *ast.MergeKeyNode:
		return nil, t.fault(line, column, "an anchor, alias or tag", "plain values", "write the value out")
	}
	return nil, t.fault(line, column, "YAML of the kind "+n.Type().String(), "plain values", "write the value out")
}

func (t *Tree) yamlMap(values []*ast.MappingValueNode, pointer string, depth int) (any, error) {
	m := map[string]any{}
	for _, v := range values {
		line, column := position(v.Key)
		if v.Key.Type() == ast.MergeKeyType {
			return nil, t.fault(line, column, "a merge key", "plain values", "write the fields out")
		}
		name := keyText(v.Key)
		if _, twice := m[name]; twice {
			return nil, t.fault(line, column, fmt.Sprintf("the field %q a second time", name), "each field once", "delete one of the two")
		}
		p := pointer + "/" + escape(name)
		t.places[p] = [2]int{line, column}
		var err error
		if m[name], err = t.yamlValue(v.Value, p, depth+1); err != nil {
			return nil, err
		}
	}
	return m, nil
}

func keyText(k ast.MapKeyNode) string {
	if s, ok := k.(*ast.StringNode); ok {
		return s.Value
	}
	return k.GetToken().Value
}

// position returns where a node starts. A mapping's own token is its first
// colon, so its first key is asked instead.
func position(n ast.Node) (line, column int) {
	var tk *token.Token
	switch x := n.(type) {
	case *ast.MappingNode:
		if len(x.Values) > 0 {
			return position(x.Values[0].Key)
		}
		tk = x.Start
	case *ast.MappingValueNode:
		return position(x.Key)
	default:
		tk = n.GetToken()
	}
	if tk == nil || tk.Position == nil {
		return 0, 0
	}
	return tk.Position.Line, tk.Position.Column
}

func firstLine(s string) string {
	line, _, _ := strings.Cut(s, "\n")
	return line
}
