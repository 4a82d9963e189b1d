// Package riglog answers: what has been written down about this rig, and what
// falls due?
//
// A log is one plain CSV file a rig, which opens in a spreadsheet. Its first
// line names the columns, and every other line is one entry:
//
//	date             2026-04-03 or 2026-04-03T18:30, the day at the rig, without a time zone
//	entry            reading, refill or stage
//	meter            the figure on the water meter that counts what the vessel delivers
//	meter_unit       gal (US) or L
//	meter_event      empty, or rollover 100000, reset, zeroed (see Event)
//	feed_ppm         what the pen shows ahead of the vessel
//	product_ppm      what the pen shows behind it
//	silica_mg_per_l  a silica test of the product as SiO2, such as 2 or <0.5
//	reason           of a refill: spots, meter, silica or schedule
//	stage, task      of an upkeep entry: which stage, what was done
//	note             free text of one line
//
// # What a file can rely on
//
// Entries are appended under a lock, and an entry is acknowledged only after
// the file has been synced to disk. Where the write fails, the file is cut
// back to what it was. Corrections, imports and new files are written to a
// temporary file that then takes the place of the log, so that a crash leaves
// the old file or the new one. Rows are never reordered, and no row is
// rewritten but the one that is corrected.
//
// A row that cannot be read is an error with its line: nothing is guessed and
// nothing is skipped. An entry that is earlier than the last one, that repeats
// one, or whose meter went backwards is refused with the flag that confirms
// it (Confirm).
//
// The lock is a file beside the log, its name with ".lock" added, that stays
// empty: the log itself may be replaced while somebody waits for it.
//
// Begin, Extend and Parse work on text alone, for a log that is kept elsewhere
// than in a file of this machine; what touches files is left out of the engine
// for browsers.
//
// # Upkeep
//
// Calendar takes the recurring tasks of a plan and the stage entries of the
// log and says when each falls due next; WriteCalendar writes that as an
// iCalendar stream (RFC 5545). The clock is never read here: today and the
// time stamp are passed in.
package riglog
