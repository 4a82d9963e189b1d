package labreport

// Bounds on what is read, all of them. A larger input is refused with the bound
// named, except where the comment says what happens instead. Documents in JSON
// and YAML also keep to the bounds of package schemas.
const (
	MaxBytes      = 16 << 20 // bytes of input
	MaxLines      = 200_000  // lines, or rows of all tables together
	MaxLineLength = 64 << 10 // bytes of one line
	MaxText       = 4 << 20  // bytes of text whose layout must be worked out; that takes about a hundred times as much memory

	maxNumber      = 40  // characters of one number; a longer one is no number
	maxQuotedLines = 40  // lines of a quoted cell; a quote left open longer is an ordinary character
	maxFaults      = 100 // faults of one document that are collected

	// A workbook.
	maxParts        = 200     // files in the archive
	maxUnpacked     = 8 << 20 // bytes of all its XML, unpacked
	maxSheetRows    = 20_000  // rows of all sheets
	maxSheetCells   = 300_000 // cells of all sheets
	maxSheetColumns = 1_000   // columns of a sheet
	maxXMLDepth     = 64      // nested elements; a workbook needs fewer than ten

	// A PDF.
	maxPages      = 60        // pages
	maxPDFObjects = 50_000    // objects
	maxPDFNumber  = 100_000   // highest number of an object
	maxPDFStream  = 2 << 20   // bytes of one unpacked stream
	maxPDFUnpacks = 24 << 20  // bytes unpacked in all
	maxPDFReads   = 40_000    // times that the library may ask for bytes
	maxGlyphs     = 200_000   // characters on all pages
	maxOperators  = 2_000_000 // drawing instructions on all pages
	maxOperands   = 20_000    // operands of one instruction; an array of text pieces is the longest
	maxForms      = 4         // depth of drawings within drawings
	maxSaved      = 500       // saved states; real pages nest a few

	// A web page; deeper or wider ones are cut at the bound.
	maxTables = 50 // depth of tables within tables
	maxSpan   = 50 // empty cells that a colspan stands for
)
