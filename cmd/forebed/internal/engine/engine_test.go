package engine

import (
	"context"
	"errors"
	"strings"
	"testing"

	"forebed/chem/labreport"
	"forebed/rules"
	"forebed/schemas"
)

func request(t *testing.T, report string) *Request {
	t.Helper()
	set, err := rules.Merge(rules.Builtin()...)
	if err != nil {
		t.Fatal(err)
	}
	return &Request{Input: []byte(report), File: "report", Rig: rules.DefaultRig(), Rules: set, Draws: 100, Seed: 1}
}

const plain = "pH: 7.4\nHardness: 250 mg/L as CaCO3\nAlkalinity: 200 mg/L as CaCO3\nConductivity: 600 uS/cm\nTurbidity: 0.3 NTU\n"

// Each doubt that would change the plan is refused with its line and the flag
// that settles it; with the flag, the same report is planned.
func TestDoubtsThatMatterAreRefused(t *testing.T) {
	for _, c := range []struct {
		name, report, flag string
		edits              labreport.Edits
	}{
		{"hardness without a unit", strings.Replace(plain, "250 mg/L as CaCO3", "25", 1), "--set hardness=25gpg", labreport.Edits{Set: []string{"hardness=25gpg"}}},
		{"iron without a unit on a rig that regenerates", plain + "Iron: 4\n", "", labreport.Edits{Set: []string{"iron=4ug/L"}}},
	} {
		r := request(t, c.report)
		_, err := r.Plan(context.Background())
		if c.flag == "" {
			if err != nil && !errors.Is(err, ErrDoubt) {
				t.Errorf("%s: %v", c.name, err)
			}
		} else {
			var ps schemas.Problems
			if !errors.As(err, &ps) || !errors.Is(err, ErrDoubt) || !strings.Contains(err.Error(), c.flag) {
				t.Errorf("%s: error is %v, want a refusal that names %s", c.name, err, c.flag)
				continue
			}
			if ps[0].Line == 0 {
				t.Errorf("%s: the refusal names no line", c.name)
			}
		}
		r.Edits = c.edits
		if _, err := r.Plan(context.Background()); err != nil {
			t.Errorf("%s: settled, but still refused: %v", c.name, err)
		}
	}
}

// A doubt that cannot matter is told, and the plan goes on: nitrate as N or as
// NO3 at a trace.
func TestDoubtsThatDoNotMatterPass(t *testing.T) {
	result, err := request(t, plain+"Nitrate: 0.2 mg/L\n").Plan(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	if len(result.Settled) == 0 || !strings.Contains(strings.Join(result.Settled, " "), "basis_unstated") {
		t.Errorf("settled doubts are %q, want the basis of nitrate among them", result.Settled)
	}
}

func TestImpossibleValueIsRefused(t *testing.T) {
	_, err := request(t, strings.Replace(plain, "7.4", "74", 1)).Plan(context.Background())
	if !errors.Is(err, ErrDoubt) || !strings.Contains(err.Error(), "--set ph=") || !strings.Contains(err.Error(), ":1:") {
		t.Errorf("error is %v, want the line of pH and the flag that settles it", err)
	}
}

func TestSeveralSamplesAreAskedAbout(t *testing.T) {
	two := "WELL 1\n" + plain + "\nWELL 2\n" + strings.Replace(plain, "250", "60", 1)
	r := request(t, two)
	if _, err := r.Composition(); !errors.Is(err, ErrSamples) || !strings.Contains(err.Error(), "WELL 2") {
		t.Fatalf("error is %v, want both samples and --sample", err)
	}
	r.Edits.Sample = "2"
	result, err := r.Composition()
	if err != nil {
		t.Fatal(err)
	}
	if h := result.Water.Hardness.P50; h > 80 {
		t.Errorf("hardness of sample 2 is %v, want about 60", h)
	}
}

// The same request gives the same plan, whatever the number of workers.
func TestSameSeedSamePlan(t *testing.T) {
	var first string
	for _, workers := range []int{1, 2, 5} {
		r := request(t, plain)
		r.Workers = workers
		result, err := r.Plan(context.Background())
		if err != nil {
			t.Fatal(err)
		}
		got := kinds(result.Plan) + " " + strings.Join(strings.Fields(strings.TrimSpace(result.Plan.Life.WithPlan.Text)), " ")
		if first == "" {
			first = got
		}
		if got != first {
			t.Errorf("%d workers: %q, with one %q", workers, got, first)
		}
	}
}
