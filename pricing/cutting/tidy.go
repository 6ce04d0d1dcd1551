package cutting

import (
	"cmp"

	"reckoner/pricing/num"
)

// tidy looks for a solution of fewer pieces that costs no more, then moves items
// about so that what is left over is in large offcuts.
func (s *search) tidy(best solution) solution {
	if len(s.boards) > 1 {
		all := s.steps
		s.steps /= 2
		for best.pieces > 1 {
			s.start(&best, best.cost, best.pieces-1)
			if !s.run() {
				break
			}
			best = s.solution()
		}
		s.steps += all / 2
	}
	s.narrow, s.stray = s.keepable, 4
	s.start(&best, best.cost, best.pieces)
	now := s.useful(s.sheets)
	for s.steps > 0 && len(s.sheets) > 0 {
		s.mark()
		s.ruin()
		s.order(s.next(len(s.ranks) + 1))
		s.insert()
		if len(s.left) == 0 {
			if then := s.useful(s.sheets); then.compare(now) >= 0 {
				s.keep()
				now = then
				continue
			}
		}
		s.undo()
	}
	for i := range s.sheets {
		s.tighten(i)
	}
	return s.solution()
}

// tighten moves what strips are wider than need be to the edge of what they lie in, so
// that cuts run along parts, unless that spoils an offcut.
func (s *search) tighten(i int) {
	k := s.fresh()
	k.copy(s.sheets[i])
	k.shrink(0, k.slots[0].size)
	s.find(k)
	if s.useful([]*sheet{k}).compare(s.useful(s.sheets[i:i+1])) >= 0 {
		s.sheets[i] = k
	}
}

// A use is what offcuts are good for: the largest by far the most, and all together
// the more the larger they are.
type use struct {
	largest num.Wide // its area
	all     int64
}

func (u use) compare(v use) int {
	return cmp.Or(u.largest.Compare(v.largest), cmp.Compare(u.all, v.all))
}

// useful returns what the offcuts worth keeping are good for.
func (s *search) useful(sheets []*sheet) use {
	var u use
	var best size
	var most int64
	for _, c := range sheets {
		for i := range c.rooms {
			r := &c.rooms[i]
			u.all += r.value
			if r.value == 0 {
				continue
			}
			kept := size{r.l - s.kerf, r.w - s.kerf}
			if a := s.area(kept); a > most {
				best, most = kept, a
			} else if s.shift > 0 && a == most && num.Mul(kept.l, kept.w).Compare(num.Mul(best.l, best.w)) > 0 {
				best = kept
			}
		}
	}
	s.steps -= int64(2 * len(sheets))
	u.largest = num.Mul(best.l, best.w)
	return u
}
