package estimate

import "slices"

// Nth is the value that would stand at place k if s were in order (what is no
// number first). It moves the values of s about. k must be a place of s.
func Nth[T float32 | float64](s []T, k int) T {
	for _, v := range s {
		if v != v {
			slices.Sort(s)
			return s[k]
		}
	}
	lo, hi := 0, len(s)-1
	for hi-lo > 8 {
		i, j := parted(s, lo, hi)
		switch {
		case k <= j:
			hi = j
		case k >= i:
			lo = i
		default:
			return s[k]
		}
	}
	for i := lo + 1; i <= hi; i++ {
		for j := i; j > lo && s[j] < s[j-1]; j-- {
			s[j], s[j-1] = s[j-1], s[j]
		}
	}
	return s[k]
}

// parted moves what is not above a middle value of s[lo:hi+1] to places up to
// j, and what is not below it to places from i on (Hoare's partition).
func parted[T float32 | float64](s []T, lo, hi int) (i, j int) {
	a, p, b := s[lo], s[lo+(hi-lo)/2], s[hi]
	if a > b {
		a, b = b, a
	}
	p = max(a, min(p, b))
	i, j = lo, hi
	for i <= j {
		for s[i] < p {
			i++
		}
		for s[j] > p {
			j--
		}
		if i <= j {
			s[i], s[j] = s[j], s[i]
			i++
			j--
		}
	}
	return i, j
}
