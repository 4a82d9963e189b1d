package labreport

import "strings"

// recognise tells the format by content: rows to interpret, or, for a machine
// format, the finished reading.
func recognise(input []byte, o Options) (source, *Reading, error) {
	text := strings.ToValidUTF8(string(input), "\uFFFD")
	src := source{format: "text"}
	for i, l := range strings.Split(text, "\n") {
		src.rows = append(src.rows, row{line: i + 1, text: strings.TrimSuffix(l, "\r")})
	}
	return src, nil, nil
}
