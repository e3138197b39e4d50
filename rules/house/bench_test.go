//go:build unix

package house_test

import (
	"fmt"
	"syscall"
	"testing"
	"time"

	"github.com/shuntwright/shuntwright/rules"
	"github.com/shuntwright/shuntwright/rules/house"
)

// BenchmarkHouseRules is what 20 rules on 1000 blocks take, the start of their process included. What they add to the same
// judgement without a rule is reported beside it, the least of all rounds: time on the clock, of which the promise is at most
// 300 ms, and time of processors, which does not grow with what else the machine does.
func BenchmarkHouseRules(b *testing.B) {
	d := load(b, fleet(1000))
	texts := twenty()
	var with, without used
	for b.Loop() {
		without = without.least(func() { rules.Judge(d, nil, rules.NoRemedies) })
		with = with.least(func() {
			var files []house.File
			for i, text := range texts {
				files = append(files, house.File{Path: fmt.Sprintf("house/%d.star", i), Text: []byte(text)})
			}
			s := house.Open(files)
			rep := rules.Judge(d, s.List(), rules.NoRemedies)
			s.Settle(rep)
			s.Close()
			if len(rep.Results) != 20_000 {
				b.Fatalf("%d results: %+v", len(rep.Results), rep.Results[0])
			}
		})
	}
	b.ReportMetric(float64((with.clock - without.clock).Milliseconds()), "added-ms")
	b.ReportMetric(float64((with.work - without.work).Milliseconds()), "added-cpu-ms")
}

// used is time on the clock and of processors, that of children that have ended among it.
type used struct{ clock, work time.Duration }

func (u used) least(do func()) used {
	began, before := time.Now(), work()
	do()
	now := used{time.Since(began), work() - before}
	if u.clock == 0 {
		return now
	}
	return used{min(u.clock, now.clock), min(u.work, now.work)}
}

func work() (sum time.Duration) {
	for _, who := range []int{syscall.RUSAGE_SELF, syscall.RUSAGE_CHILDREN} {
		var r syscall.Rusage
		if syscall.Getrusage(who, &r) == nil {
			sum += time.Duration(r.Utime.Nano() + r.Stime.Nano())
		}
	}
	return sum
}
