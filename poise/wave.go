package poise

import (
	"fmt"
	"math"

	"beatwright/estimate"
)

// Wave is the plain wave of the upright rates round the dial, whatever its
// cause: rate = mean + C·cos λ + S·sin λ, λ = 30° for each hour.
type Wave struct {
	Mean, C, S estimate.Estimate // s/d
	// Size is half the height of the wave, s/d; FastHour the hour that is up
	// where it is fastest, 0 ≤ h < 12, with its doubt in hours.
	Size     estimate.Estimate
	FastHour estimate.Estimate
	Standing Standing
	Scatter  float64
	solution estimate.Solution
}

// FitWave fits the upright readings, weighted by their own doubts; amplitudes
// are not looked at. Three different positions are the least.
func FitWave(readings []Reading) (Wave, error) {
	var rows []estimate.Row
	for _, r := range readings {
		if r.Position.Upright() && finite(r.Rate) {
			sin, cos := math.Sincos(r.Position.Lambda().Radians())
			y := r.Rate
			y.Own = max(y.Own, leastDoubt)
			rows = append(rows, estimate.Row{X: []float64{1, cos, sin}, Y: y})
		}
	}
	s, err := estimate.Fit(rows)
	if err != nil {
		return Wave{}, fmt.Errorf("fit a wave to %d upright readings: %w", len(rows), err)
	}
	w := Wave{}
	if s.Free > 0 {
		w.Scatter = math.Sqrt(s.ChiSquare / float64(s.Free))
		s = s.Widened(max(1, w.Scatter))
	}
	w.solution, w.Mean, w.C, w.S = s, s.Term(0), s.Term(1), s.Term(2)
	arrow := pair{s, 1, nil}
	w.Standing, w.Size = arrow.standing(), arrow.length()
	w.FastHour = arrow.angle().Scale(1.0 / 30)
	return w, nil
}

// At is the fitted rate with the given hour up, s/d.
func (w Wave) At(hour float64) estimate.Estimate {
	sin, cos := math.Sincos(hour * math.Pi / 6)
	return w.solution.Combine([]float64{1, cos, sin})
}
