package cutting_test

import (
	"flag"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"reckoner/catalog/wire"
	"reckoner/pricing/cutting"
	"reckoner/pricing/num"
)

var instanceFiles = flag.String("instances", "", "comma-separated files of problems to plan, quickly and thoroughly, in place of the sample; -v prints the table")

// sampleFiles hold published problems and some of our own; each names its paper, and
// the best bounds known of each variant.
const sampleFiles = "../../testdata/cutting/cut1d.jsonl,../../testdata/cutting/rect2d.jsonl"

// thoroughSample is those of the sample that are planned thoroughly, too.
var thoroughSample = []string{"falk_t60_05", "waescher_TEST0065", "timber_08", "class01_n020_01", "ngcut02", "mb_C2_4", "ht_t1c", "sheet_20"}

// TestInstances plans every variant of the instances. Each plan is judged from its
// coordinates alone, and against what is known: it costs no less than the known lower
// bound, and the bound it proves is not above what a known plan costs.
func TestInstances(t *testing.T) {
	files, all := sampleFiles, false
	if *instanceFiles != "" {
		files, all = *instanceFiles, true
	}
	var families standings
	for _, file := range strings.Split(files, ",") {
		text, err := os.ReadFile(file)
		require.NoError(t, err)
		list, err := wire.Instances(text)
		require.NoError(t, err, file)
		for k := range list {
			i := &list[k]
			for _, rotation := range i.Variants() {
				efforts := []cutting.Effort{cutting.Quick}
				if all || slices.Contains(thoroughSample, i.Name) {
					efforts = append(efforts, cutting.Thorough)
				}
				for _, e := range efforts {
					families.solve(t, i, rotation, e)
				}
			}
		}
	}
	t.Logf("\n%s", families.table())
}

// A standing is how plans of one family stand, by effort.
type standing struct {
	family string
	effort [2]struct {
		plans, proved int
		cost, best    num.Decimal // of all, and of the best plans known
		took, longest time.Duration
	}
}

// standings is those of all families, in the order of the files.
type standings []*standing

// of returns the standing of a family, at first an empty one.
func (s *standings) of(family string) *standing {
	for _, f := range *s {
		if f.family == family {
			return f
		}
	}
	*s = append(*s, &standing{family: family})
	return (*s)[len(*s)-1]
}

// solve plans a variant, judges the plan and counts it.
func (s *standings) solve(t *testing.T, i *wire.Instance, rotation string, e cutting.Effort) {
	t.Helper()
	name := fmt.Sprintf("%s, %s, effort %d (%s)", i.Name, rotation, e, i.Source)
	job := i.Job(rotation)
	began := time.Now()
	plan, err := job.Plan(e)
	took := time.Since(began)
	require.NoError(t, err, name)
	solution := i.Solution(rotation, &plan, took)
	cost, err := judged(i, &solution)
	require.NoError(t, err, name)
	require.LessOrEqual(t, solution.Bound, cost, name)
	best := cost
	for _, r := range i.Refs {
		if r.Cut == "free" || r.Rotation != rotation {
			continue
		}
		if r.LB != nil {
			require.GreaterOrEqual(t, cost, *r.LB, "%s costs less than is possible", name)
		}
		if r.UB != nil {
			require.LessOrEqual(t, solution.Bound, *r.UB, "%s proves what is not so", name)
			best = *r.UB
		}
	}
	f := &s.of(i.Family).effort[e]
	f.plans++
	f.cost += cost
	f.best += best
	f.took += took
	f.longest = max(f.longest, took)
	if plan.Proved() {
		f.proved++
	}
}

// table returns the standings as DEVELOPERS.md has them; the last row is of all, whose
// costs are in different coins.
func (s standings) table() string {
	var b strings.Builder
	b.WriteString("| family | plans | over the best known: quick | thorough | proved: quick | thorough | ms, mean and longest: quick | thorough |\n| --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: |\n")
	all := standing{family: "all"}
	for _, f := range s {
		fmt.Fprintln(&b, f.row())
		for e := range f.effort {
			x, y := &all.effort[e], &f.effort[e]
			x.plans += y.plans
			x.proved += y.proved
			x.took += y.took
			x.longest = max(x.longest, y.longest)
		}
	}
	fmt.Fprintln(&b, all.row())
	return b.String()
}

// row returns a row of the table.
func (s *standing) row() string {
	var over, proved, took [2]string
	for e, x := range s.effort {
		if x.plans == 0 {
			continue
		}
		if x.best > 0 {
			over[e] = fmt.Sprintf("%v of %v (%+.2f %%)", x.cost-x.best, x.best, 100*float64(x.cost-x.best)/float64(x.best))
		}
		proved[e] = fmt.Sprintf("%d %%", (100*x.proved+x.plans/2)/x.plans)
		took[e] = fmt.Sprintf("%.1f, %.1f", x.took.Seconds()*1000/float64(x.plans), x.longest.Seconds()*1000)
	}
	return fmt.Sprintf("| %s | %d | %s | %s | %s | %s | %s | %s |", s.family, s.effort[0].plans, over[0], over[1], proved[0], proved[1], took[0], took[1])
}
