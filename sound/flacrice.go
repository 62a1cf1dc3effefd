package sound

import (
	"encoding/binary"
	"math/bits"
)

// maxRiceParts bounds the partitions tried, as a power of two; chosen: with
// 4 096 frames the smallest holds 64.
const maxRiceParts = 6

// ricePlan is how residuals are to be coded, RFC 9639 §9.2.7.
type ricePlan struct {
	parts uint // log2 of the partitions
	k     [1 << maxRiceParts]uint8
	bits  int // estimate of all bits
	wide  bool
}

// planRice chooses partitions and parameters for r, the residuals of a block
// of n frames without its order warm-up samples.
func planRice(r []int32, order, n int) ricePlan {
	most := uint(0)
	for most < maxRiceParts && n%(2<<most) == 0 && n>>(most+1) > order {
		most++
	}
	var sums [1 << maxRiceParts]uint64
	per := n >> most
	for p := range 1 << most {
		sums[p] = sumFolded(part(r, p, per, order))
	}
	var best ricePlan
	for parts := int(most); parts >= 0; parts-- {
		plan := planParts(sums[:1<<parts], n>>parts, order)
		plan.parts = uint(parts)
		if parts == int(most) || plan.bits < best.bits {
			best = plan
		}
		for p := range 1 << parts >> 1 {
			sums[p] = sums[2*p] + sums[2*p+1]
		}
	}
	return best
}

// part gives the residuals of partition p of per frames; the first lacks the
// warm-up.
func part(r []int32, p, per, order int) []int32 {
	return r[max(p*per-order, 0) : (p+1)*per-order]
}

func sumFolded(r []int32) (sum uint64) {
	for _, v := range r {
		sum += uint64(uint32(v<<1 ^ v>>31))
	}
	return sum
}

// planParts finds the parameter of each partition from the sum of its folded
// residuals: 2^k near their mean; the length in bits is then bounded by
// count·(k+1) + sum/2^k.
func planParts(sums []uint64, per, order int) ricePlan {
	var plan ricePlan
	for p, sum := range sums {
		n := uint64(per)
		if p == 0 {
			n -= uint64(order)
		}
		best, bestK := ^uint64(0), uint8(0)
		guess := bits.Len64(sum / max(n, 1))
		for k := max(guess-2, 0); k <= min(guess+1, 30); k++ {
			if c := n*uint64(k+1) + sum>>k; c < best {
				best, bestK = c, uint8(k)
			}
		}
		plan.k[p] = bestK
		plan.bits += int(best)
		plan.wide = plan.wide || bestK > 14
	}
	plan.bits += len(sums) * 5
	return plan
}

// bitSink gathers bits.
type bitSink struct {
	b   []byte
	acc uint64 // the lowest n bits are pending
	n   uint
}

func (s *bitSink) reset() { s.b, s.acc, s.n = s.b[:0], 0, 0 }

// put appends the lowest k bits of v, k at most 32.
func (s *bitSink) put(v uint64, k uint) {
	s.acc = s.acc<<k | v&(1<<k-1)
	s.n += k
	if s.n >= 32 {
		s.n -= 32
		s.b = binary.BigEndian.AppendUint32(s.b, uint32(s.acc>>s.n))
	}
}

// align fills up to a whole byte with 0.
func (s *bitSink) align() {
	if r := s.n & 7; r > 0 {
		s.put(0, 8-r)
	}
	for s.n > 0 {
		s.n -= 8
		s.b = append(s.b, byte(s.acc>>s.n))
	}
}

// residual writes the residuals as planned.
func (s *bitSink) residual(r []int32, order int, plan ricePlan) {
	paramBits := uint(4)
	if plan.wide {
		paramBits = 5
	}
	s.put(uint64(paramBits-4), 2)
	s.put(uint64(plan.parts), 4)
	per := (len(r) + order) >> plan.parts
	for p := range 1 << plan.parts {
		k := uint(plan.k[p])
		s.put(uint64(k), paramBits)
		for _, v := range part(r, p, per, order) {
			u := uint64(uint32(v<<1 ^ v>>31))
			q := uint(u >> k)
			for ; q > 31; q -= 32 {
				s.put(0, 32)
			}
			if q+1+k <= 32 {
				s.put(1<<k|u&(1<<k-1), q+1+k)
				continue
			}
			s.put(1, q+1)
			s.put(u, k)
		}
	}
}
