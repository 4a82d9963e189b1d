// Package labreport answers: what does this report say?
//
// Read takes the bytes of a report and gives an analysis document with the
// fate of every line, or a Refusal that says why there is none and what to do.
// Apply makes the corrections of a user, ApplyPads turns the readings of a test
// strip into intervals, WriteJSON and WriteCSV write an analysis that Read
// reads back to the same one.
//
// # Formats
//
// Formats are told apart by content, never by file name (decode.go): UTF-8 and
// UTF-16 with and without a byte-order mark, and Windows-1252, in that order.
// Some kinds of input need no guessing, and are read row for row, each used
// or explained:
//
//   - tables with one result a row (narrow.go) whose headings, whole or by their
//     words (fields.go), name an analyte, a value, a unit and a sample or a
//     place, or leave nothing open (tidy.go), among them the downloads of the
//     Water Quality Exchange (WQX). A limit column is a detection limit only if
//     its type says so: "Drinking Water Maximum" is none. Field measurements
//     and the bottle of one visit are joined by place and day;
//   - tables with one sample a row and analytes as columns (wide.go), whose
//     headings carry unit, basis, fraction or a USGS parameter code, or have
//     rows of units, fractions and methods below, or a legend around them or on
//     another sheet; the same turned, with one sample a column (turned.go), and
//     tables side by side or with a group of columns a sample (merged.go);
//   - records in JSON of any shape (records.go): lists of results, objects keyed
//     by analyte or by sample, headings and rows;
//   - analysis documents (json.go), and the CSV that WriteCSV makes (write.go).
//
// Everything else becomes rows for the reader of layouts: free text, CSV, the
// sheets of a workbook (xlsx.go), the tables of a page (html.go) and the lines
// of a PDF (pdf.go), set in columns as on the page. The sheets of a workbook are
// read one by one and put together by sample (sheets.go); of a saved mail
// (mail.go), the part with the most results is read. A table is refused like any
// other text when its words or units are those of another kind of document.
//
// A WQX name must be a whole name of the vocabulary; other names may carry
// words beside them ("Iron, total", "Calcium, wf"). Half a name is none.
// Numbers of a table are read in the style that its other numbers prove
// (decimal comma or point); one that stays ambiguous is withheld with both
// readings.
//
// # Layouts
//
// The reader of layouts (text.go) knows no report beforehand. It cuts each line
// into cells, tokens (token.go, code.go, method.go) and items (item.go): names
// by the longest spelling of package analyte, numbers with what belongs to
// them, units with their basis, and the words of a vocabulary in the languages
// of the survey (vocab.go, heading.go). Lines that go on below are joined
// (wrap.go). Then a line is, in this order: part of a block of labelled lines
// or of a table copied cell by cell or column by column (lists.go), the heading
// of tests that stand side by side (across.go), the heading of a table
// (header.go), a row (row.go, cells.go, plain.go), a legend or section
// (context.go, sample.go), or running text (prose.go), which is only read when
// there is no table: letters quote limits, other wells and other years.
//
// The items of a row are put into the columns of its heading at the least cost
// of kind and place (table.go). The result is never the first number behind a
// name: a number under a limit, a reporting limit, a dilution, a date, an
// uncertainty, a spike or behind a word such as "goal" or "was" is none.
//
// Where a program has made all gaps of one width, cells are counted and not
// placed (evenGaps). Where neither helps, the best way to fill the columns is
// taken without a doubt only if the next best is much dearer (rivalled). Where
// places count, an empty cell of results stays empty, and no limit moves into
// it. A row that says both that something and that nothing was found, two
// numbers in one cell, fewer values than samples where only their order is
// known, and a result as a salt or oxide that is not converted are withheld.
// Valences of arsenic and chromium, and sums ("sodium + potassium"), are none of
// their elements.
//
// How a number follows from what is written (numeral.go):
//
//   - A mark before other than three digits stands before decimals. Before three
//     digits it stands before decimals or thousands as the other numbers of the
//     report prove; if they prove nothing, or both, the number is withheld.
//   - Blanks (non-breaking) and apostrophes before three digits part thousands.
//   - E-02, x 10^-2 and ×10⁻² are exponents; 1 1/2 and 1½ are mixed fractions.
//   - O, l, I, |, S, B among digits are 0, 1, 1, 1, 5, 8, and "7 .4" is 7.4, but
//     never in silence (ocr_suspect).
//   - "<", "less than" and the like, ND and its kin, and a flag U make a
//     non-detect; its limit is the number so marked, else the reporting limit of
//     the row, else its detection limit. "120 to 250" and "> 25" are ranges.
//   - What stands in words only stays in words.
//
// A unit is the one nearest to the value: its own, its column's, its name's,
// its section's, the legend's. None is assumed. What is doubtful is said with
// what it may mean and the flag that settles it (doubt.go): a missing unit, a
// basis that is not stated, two figures for one thing, ions that do not
// balance, a unit that cannot be right (plausible.go: common practice, no
// source). Other documents that share words and units with a water analysis are
// refused (survey.go).
//
// # Guards
//
// PDFs and workbooks come from anywhere, and both libraries used were seen to
// fail on damaged files. The PDF library follows cross-references in circles
// until the stack overflows, makes room for whatever size a file claims, and
// does not end on a torn string of a drawing or of a character map. So a PDF
// is first written anew with plain objects found by looking for them
// (pdf_plain.go), and drawings and character maps are read here
// (pdf_content.go); the library resolves objects, unpacks streams and knows
// the encodings of fonts. The workbook library stops in silence where XML
// breaks, keeps the first piece only of a value in several, and dies in a
// goroutine of its own on a negative index; so all XML is walked first and
// refused if any of that stands in it. Every bound is named in its refusal.
//
// # Strips
//
// The steps of a strip are part of a reading: a printed 0 on a pad with the
// steps 0 and 5 means 0 to 2.5 (ledger I-STRIP-INT, I-STRIP-FE; pads.csv). The
// reading keeps the 0; the interval is applied only when the user names a
// table of pads.
//
// # Left out
//
// Scanned pages (no OCR), encrypted PDFs, the binary office formats, PDF
// filters other than Flate and ASCII85, text that does not run from left to
// right, phonetic text in workbooks; each is refused or passed over, and says so. A
// workbook's number formats are not applied: a number is shown with at most 15
// digits, as spreadsheets do.
package labreport
