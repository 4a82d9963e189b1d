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
// Three kinds of input need no guessing, and are read row for row, each used
// or explained:
//
//   - tables with one result a row whose headings name an analyte, a value, a
//     unit and a sample or a place (narrow.go), among them the downloads of the
//     Water Quality Exchange (WQX). A limit column is a detection limit only if
//     its type says so: "Drinking Water Maximum" is none. Field measurements
//     and the bottle of one visit are joined by place and day;
//   - tables with one sample a row and analytes as columns (wide.go), whose
//     headings carry unit, basis, fraction or a USGS parameter code, or have a
//     second row of units below;
//   - analysis documents (json.go), and the CSV that WriteCSV makes (write.go).
//
// Everything else becomes rows for the reader of layouts: free text, CSV, the
// sheets of a workbook (xlsx.go), the tables of a page (html.go) and the lines
// of a PDF (pdf.go), set in columns as on the page.
//
// A WQX name must be a whole name of the vocabulary; other names may carry
// words beside them ("Iron, total", "Calcium, wf"). Half a name is none.
// Numbers of a table are read in the style that its other numbers prove
// (decimal comma or point); one that stays ambiguous is withheld with both
// readings.
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
