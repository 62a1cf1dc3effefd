package measure

import (
	"math"

	"beatwright/estimate"
	"beatwright/reading"
	"beatwright/unit"
)

// mostPlaces is in how many places of its turn a wave is shown at most.
const mostPlaces = 12

// turn is the swing over one turn of wave j, from the first step on: means at even
// places, baseline and the other waves taken out.
func (s *swingWaves) turn(j int) []reading.AmplitudePoint {
	w := s.waves[j]
	n := min(mostPlaces, int(w.Period))
	sum, at, count := make([]float64, n), make([]float64, n), make([]float64, n)
	for i, v := range s.rest {
		if v == v {
			k, phase := s.place(i, w.Period, n)
			sum[k] += v + w.At(float64(i))/averagedOff(w.Period)
			at[k] += phase
			count[k]++
		}
	}
	left := known(s.rest)
	free := math.Max(3, float64(len(left)-n)/inflation(left))
	sd := math.Sqrt(squares(left) / free)
	out := []reading.AmplitudePoint{}
	for k := range sum {
		if count[k] > 0 {
			out = append(out, reading.AmplitudePoint{
				At:  unit.Seconds(at[k] / count[k] * s.step),
				Deg: sum[k] / count[k], U95: estimate.Student95(free) * sd / math.Sqrt(count[k]),
			})
		}
	}
	return out
}

// place is where in a turn of so many steps step i falls: the place of n, and the
// steps since the turn's beginning, that of the stretch.
func (s *swingWaves) place(i int, period float64, n int) (k int, phase float64) {
	phase = math.Mod(float64(i)+s.begin/s.step, period)
	return min(n-1, int(phase/period*float64(n))), phase
}
