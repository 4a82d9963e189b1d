//go:build !js

package riglog

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/rogpeppe/go-internal/lockedfile"

	"forebed/schemas"
)

// Read reads a log file.
func Read(path string) (*Log, error) {
	data, err := load(path)
	if err != nil {
		return nil, err
	}
	return Parse(path, data)
}

func load(path string) ([]byte, error) {
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, schemas.Problems{{File: path, Found: "no such file", Want: "a log", Remedy: "check the name, or give --new to begin a log with the first entry", Err: err}}
	case err != nil:
		return nil, err
	case !info.Mode().IsRegular():
		return nil, schemas.Problems{{File: path, Found: "something that is no regular file", Want: "a log", Remedy: "name the CSV file of the rig", Err: schemas.ErrInvalid}}
	}
	return os.ReadFile(path)
}

// locked runs f while no other process writes the log.
func locked(path string, f func() error) error {
	unlock, err := lockedfile.MutexAt(path + ".lock").Lock()
	if err != nil {
		return fmt.Errorf("cannot lock the log: %w", err)
	}
	defer unlock()
	return f()
}

// Create begins a log with its first entry. It fails where the file exists.
func Create(path string, e Entry) error {
	text, err := Begin(e)
	if err != nil {
		return err
	}
	return locked(path, func() error {
		if err := absent(path); err != nil {
			return err
		}
		return replace(path, text, 0o644)
	})
}

func absent(path string) error {
	if _, err := os.Lstat(path); err == nil {
		return schemas.Problems{{File: path, Found: "a file of that name", Want: "none, to begin a new log", Remedy: "leave --new out to add to the log, or give another name", Err: fs.ErrExist}}
	} else if !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}

// Append adds one entry to a log. When it returns nil the entry is on disk;
// when it returns an error the file is as it was. It returns the entry with
// its line.
func Append(path string, e Entry, c Confirm) (Entry, error) {
	err := locked(path, func() error {
		data, err := load(path)
		if err != nil {
			return err
		}
		var row []byte
		if row, e, err = Extend(path, data, e, c); err != nil {
			return err
		}
		return appendRow(path, int64(len(data)), row)
	})
	return e, err
}

// appendRow writes behind the first size bytes, which is all the file holds,
// and syncs. A write that fails is taken back.
func appendRow(path string, size int64, row []byte) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_APPEND, 0)
	if err != nil {
		return fmt.Errorf("the entry is not written: %w", err)
	}
	_, err = f.Write(row)
	if err == nil {
		err = f.Sync()
	}
	if err != nil {
		err = fmt.Errorf("the entry is not written: %w", err)
		if undo := errors.Join(f.Truncate(size), f.Sync()); undo != nil {
			err = fmt.Errorf("%w; and the last line of %s may be cut short: %w", err, path, undo)
		}
	}
	return errors.Join(err, f.Close())
}

// replace puts data in the place of the file, all of it or nothing.
func replace(path string, data []byte, mode fs.FileMode) (err error) {
	if target, err := filepath.EvalSymlinks(path); err == nil {
		path = target // keep the link, replace what it leads to
	}
	dir := filepath.Dir(path)
	f, err := os.CreateTemp(dir, "."+filepath.Base(path)+".*.tmp")
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			os.Remove(f.Name())
		}
	}()
	_, err = f.Write(data)
	err = errors.Join(err, f.Chmod(mode), f.Sync(), f.Close())
	if err != nil {
		return err
	}
	if err = os.Rename(f.Name(), path); err != nil {
		return err
	}
	return syncDir(dir)
}

// syncDir makes a rename last. Systems that cannot sync a folder make it last
// by themselves.
func syncDir(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	_ = d.Sync()
	return d.Close()
}

// rewrite replaces a log by what edit makes of it. A file that its owner may
// not write is left alone, although its folder would allow to replace it.
func rewrite(path string, edit func(data []byte) ([]byte, error)) error {
	return locked(path, func() error {
		data, err := load(path)
		if err != nil {
			return err
		}
		f, err := os.OpenFile(path, os.O_WRONLY, 0)
		if err != nil {
			return err
		}
		info, err := f.Stat()
		if err = errors.Join(err, f.Close()); err != nil {
			return err
		}
		edited, err := edit(data)
		if err != nil {
			return err
		}
		return replace(path, edited, info.Mode().Perm())
	})
}

// Correction changes one line of a log.
type Correction struct {
	Line   int
	Delete bool
	Row    string            // a whole new row, for a line that cannot be read
	Set    map[string]string // new values by column
}

// Correct changes one line of a log and leaves every other byte as it is. It
// returns the line before and after. It works on a damaged log, as long as the
// correction leaves no more damage than there was.
func Correct(path string, c Correction) (before, after string, err error) {
	err = rewrite(path, func(data []byte) ([]byte, error) {
		lines := bytes.SplitAfter(data, []byte("\n"))
		if n := len(lines); len(lines[n-1]) == 0 {
			lines = lines[:n-1]
		}
		if c.Line < 2 || c.Line > len(lines) {
			return nil, schemas.Problems{{File: path, Found: fmt.Sprintf("line %d", c.Line), Want: fmt.Sprintf("2 to %d", len(lines)),
				Remedy: "forebed log show prints the line of every entry", Err: schemas.ErrInvalid}}
		}
		old := lines[c.Line-1]
		before = strings.TrimRight(string(old), "\r\n")
		row, err := c.apply(path, before)
		if err != nil {
			return nil, err
		}
		after = strings.TrimRight(string(row), "\n")
		if bytes.HasSuffix(old, []byte("\r\n")) && len(row) > 0 {
			row = append(row[:len(row)-1], "\r\n"...)
		}
		lines[c.Line-1] = row
		edited := bytes.Join(lines, nil)
		_, was := parse(path, data)
		if _, is := parse(path, edited); len(is) > len(was) || (len(is) > 0 && len(was) == 0) {
			return nil, is
		}
		return edited, nil
	})
	return before, after, err
}

// apply returns the corrected row, empty where it is deleted.
func (c Correction) apply(path, line string) ([]byte, error) {
	if c.Delete {
		return nil, nil
	}
	if c.Row != "" {
		line = c.Row
	}
	cells, err := splitLine(line)
	if err != nil || len(cells) != len(columns) {
		return nil, damaged(path, c.Line, quote(line), fmt.Sprintf("%d columns", len(columns)), restoreLine(c.Line))
	}
	for column, value := range c.Set {
		i := slices.Index(columns, column)
		if i < 0 {
			return nil, schemas.Problems{{File: path, Line: c.Line, Found: fmt.Sprintf("a column %q", column), Want: "one of " + oneOf(columns), Remedy: "give --set COLUMN=VALUE", Err: schemas.ErrInvalid}}
		}
		cells[i] = value
	}
	e, faults := entryOf(cells)
	if ps := problems(path, c.Line, faults); len(ps) > 0 {
		return nil, ps
	}
	return e.row(), nil
}

// Import adds the rows of another CSV file, which names its columns as a log
// does but may have them in any order and leave some out. All rows are taken
// or none; skipKnown leaves out rows that the log has already. fresh begins a
// new log. It returns how many were taken and left out.
func Import(path, from string, data []byte, c Confirm, skipKnown, fresh bool) (taken, known int, err error) {
	entries, err := ParseImport(from, data)
	if err != nil {
		return 0, 0, err
	}
	edit := func(old []byte) ([]byte, error) {
		l, err := Parse(path, old)
		if err != nil {
			return nil, err
		}
		var rows []byte
		var ps schemas.Problems
		next := len(splitRows(old)) + 1
		for _, e := range entries {
			if _, twin := l.twin(&e); twin && skipKnown {
				known++
				continue
			}
			if err := l.Ask(&e, c); err != nil {
				ps = append(ps, placed(err, from, e.Line)...)
				continue
			}
			rows = append(rows, e.row()...)
			e.Line = next + taken
			taken++
			l.add(e)
		}
		if len(ps) > 0 {
			return nil, ps
		}
		return append(slices.Clone(old), ended(old, rows)...), nil
	}
	if !fresh {
		err = rewrite(path, edit)
	} else {
		err = locked(path, func() error {
			if err := absent(path); err != nil {
				return err
			}
			all, err := edit([]byte(header))
			if err != nil {
				return err
			}
			return replace(path, all, 0o644)
		})
	}
	if err != nil {
		return 0, 0, err
	}
	return taken, known, nil
}

// placed says of problems of an entry where it stands in the imported file.
func placed(err error, file string, line int) schemas.Problems {
	var ps schemas.Problems
	if !errors.As(err, &ps) {
		return schemas.Problems{{File: file, Line: line, Found: err.Error(), Err: err}}
	}
	for i := range ps {
		ps[i].File, ps[i].Line = file, line
	}
	return ps
}
