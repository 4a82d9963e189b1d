//go:build unix

package riglog

import (
	"bufio"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"
)

// The tests of this file need a process that can be killed, that has a small
// disk or few rights: it is this test binary, started again with a job.
const jobVariable, pathVariable = "RIGLOG_TEST_JOB", "RIGLOG_TEST_PATH"

func TestMain(m *testing.M) {
	jobs := map[string]func(string) error{"add": jobAdd, "full": jobFull, "rights": jobRights}
	if job, ok := jobs[os.Getenv(jobVariable)]; ok {
		if err := job(os.Getenv(pathVariable)); err != nil {
			fmt.Println(err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	os.Exit(m.Run())
}

func child(job, path string) *exec.Cmd {
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), jobVariable+"="+job, pathVariable+"="+path)
	return cmd
}

const adds = 500

// numbered is the entry with a number, which its meter shows.
func numbered(n int) Entry {
	return Entry{Date: Date{t: time.Date(2026, 4, 1+n, 0, 0, 0, 0, time.UTC)}, Kind: Reading,
		Meter: &Count{Amount: float64(n), Unit: Gallons}, Note: "number " + strconv.Itoa(n)}
}

// jobAdd adds what is missing of the numbered entries, and prints the number
// of each once it is acknowledged.
func jobAdd(path string) error {
	l, err := Read(path)
	if err != nil {
		return err
	}
	for n := len(l.Entries); n < adds; n++ {
		if _, err := Append(path, numbered(n), Confirm{}); err != nil {
			return err
		}
		fmt.Println(n)
	}
	return nil
}

func TestKilledWhileAdding(t *testing.T) {
	e := numbered(0)
	path := newLog(t, string(e.row()))
	rng := rand.New(rand.NewPCG(9, 500))
	acknowledged, kills := 0, 0
	for acknowledged < adds-1 {
		cmd := child("add", path)
		out, err := cmd.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		// The moment is random in the work, not on a clock: after so many
		// entries, and then so many turns later.
		stop, turns := acknowledged+1+rng.IntN(30), rng.IntN(400000)
		lines := bufio.NewScanner(out)
		for lines.Scan() {
			n, err := strconv.Atoi(lines.Text())
			if err != nil {
				t.Fatalf("the process said %q", lines.Text())
			}
			acknowledged = n
			if n == stop && n < adds-1 {
				for range turns {
					rng.Uint64()
				}
				if err := cmd.Process.Kill(); err != nil {
					t.Fatal(err)
				}
				kills++
			}
		}
		_ = cmd.Wait() // killed, as it should be
		l, err := Read(path)
		if err != nil {
			t.Fatalf("after %d kills: %v", kills, err)
		}
		if len(l.Entries) <= acknowledged {
			t.Fatalf("entry %d was acknowledged, the log ends with %d", acknowledged, len(l.Entries)-1)
		}
		for i, e := range l.Entries {
			if e.Note != "number "+strconv.Itoa(i) {
				t.Fatalf("entry %d is %q", i, e.Note)
			}
		}
	}
	if l, err := Read(path); err != nil || len(l.Entries) != adds {
		t.Errorf("%d entries at the end, %v", len(l.Entries), err)
	}
	if kills < 10 {
		t.Errorf("%d kills, want at least 10", kills)
	}
	t.Logf("%d adds, %d kills", adds, kills)
}

// jobFull adds to a log on a disk that ends in the middle of the row: no file
// of this process may grow beyond the size of the log and 20 bytes.
func jobFull(path string) error {
	info, err := os.Stat(path)
	if err != nil {
		return err
	}
	size := uint64(info.Size()) + 20
	if err := syscall.Setrlimit(syscall.RLIMIT_FSIZE, &syscall.Rlimit{Cur: size, Max: size}); err != nil {
		return err
	}
	for name, f := range map[string]func() error{
		"append": func() error { _, err := Append(path, numbered(2), Confirm{}); return err },
		"correct": func() error {
			_, _, err := Correct(path, Correction{Line: 2, Set: map[string]string{"note": "a note that is much longer than the disk has room for"}})
			return err
		},
		"import": func() error {
			_, _, err := Import(path, "in.csv", []byte("date,meter,meter_unit\n2027-01-01,3,gal\n2027-01-02,4,gal\n"), Confirm{}, false, false)
			return err
		},
	} {
		if err := f(); err == nil || !errors.Is(err, syscall.EFBIG) {
			return fmt.Errorf("%s on a full disk: %v", name, err)
		}
	}
	return nil
}

// jobRights tries to write a log that its owner made read-only.
func jobRights(path string) error {
	if os.Geteuid() == 0 {
		if err := syscall.Setuid(65534); err != nil { // the superuser may write anything
			return err
		}
	}
	if _, err := Append(path, numbered(2), Confirm{}); !errors.Is(err, os.ErrPermission) {
		return fmt.Errorf("append to a read-only file: %v", err)
	}
	if _, _, err := Correct(path, Correction{Line: 2, Delete: true}); !errors.Is(err, os.ErrPermission) {
		return fmt.Errorf("correct a read-only file: %v", err)
	}
	return nil
}

func TestFullDiskAndReadOnly(t *testing.T) {
	for _, job := range []string{"full", "rights"} {
		t.Run(job, func(t *testing.T) {
			first, second := numbered(0), numbered(1)
			path := newLog(t, string(first.row()), string(second.row()))
			dir := strings.TrimSuffix(path, "/rig.csv")
			if job == "rights" {
				if err := errors.Join(os.Chmod(path, 0o444), os.Chmod(dir, 0o777)); err != nil {
					t.Fatal(err)
				}
			}
			before := content(t, path)
			if out, err := child(job, path).CombinedOutput(); err != nil {
				t.Fatalf("%v: %s", err, out)
			}
			if got := content(t, path); got != before {
				t.Errorf("the file is now %q", got)
			}
			names, err := os.ReadDir(dir)
			if err != nil {
				t.Fatal(err)
			}
			for _, n := range names {
				if n.Name() != "rig.csv" && n.Name() != "rig.csv.lock" {
					t.Errorf("%s was left behind", n.Name())
				}
			}
		})
	}
}
