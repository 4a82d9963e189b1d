package render

// Block is one piece of a rendered document.
type Block struct {
	Kind  Kind
	Label string     // of a Fact or a Detail; the caption of a Picture
	Text  string     // plain text; a printer escapes and wraps it
	Tone  Tone       // of cautions
	Head  []string   // of a Table; ">" in front aligns a column to the right
	Rows  [][]string // of a Table
	SVG   string     // of a Picture; text formats leave it out
}

// Kind tells what a block is.
type Kind int

// The kinds of block.
const (
	Title   Kind = iota // the name of the document
	Lead                // a sentence under the title
	Heading             // starts a section
	Para                // a paragraph
	Fact                // a label and a sentence; labels of neighbours are aligned
	Item                // an entry of a list
	Sub                 // small print under an item: where it comes from
	Entry               // starts a numbered entry, such as a stage
	Detail              // a label and a sentence under an entry
	Table               // rows of cells
	Picture             // an SVG picture
)

// Tone tells how strong a caution is.
type Tone string

// The tones.
const (
	Plain Tone = ""
	Stop  Tone = "stop"
	Care  Tone = "care"
	Note  Tone = "note"
)

// draft collects blocks.
type draft struct{ blocks []Block }

func (d *draft) add(b Block)               { d.blocks = append(d.blocks, b) }
func (d *draft) title(s string)            { d.add(Block{Kind: Title, Text: s}) }
func (d *draft) lead(s string)             { d.add(Block{Kind: Lead, Text: s}) }
func (d *draft) heading(s string)          { d.add(Block{Kind: Heading, Text: s}) }
func (d *draft) para(s string)             { d.add(Block{Kind: Para, Text: s}) }
func (d *draft) fact(label, s string)      { d.add(Block{Kind: Fact, Label: label, Text: s}) }
func (d *draft) item(s string)             { d.add(Block{Kind: Item, Text: s}) }
func (d *draft) sub(s string)              { d.add(Block{Kind: Sub, Text: s}) }
func (d *draft) entry(s string)            { d.add(Block{Kind: Entry, Text: s}) }
func (d *draft) detail(label, s string)    { d.add(Block{Kind: Detail, Label: label, Text: s}) }
func (d *draft) toned(tone Tone, s string) { d.add(Block{Kind: Item, Tone: tone, Text: s}) }

func (d *draft) picture(caption, svg string) {
	d.add(Block{Kind: Picture, Label: caption, SVG: svg})
}

func (d *draft) table(head []string, rows [][]string) {
	if len(rows) > 0 {
		d.add(Block{Kind: Table, Head: head, Rows: rows})
	}
}
