package synth

import (
	"math"
	"testing"
)

// balance is a balance with spring, friction and a lever: an independent
// account of the motion, by integration instead of asin.
type balance struct {
	omega, q   float64 // 1/s; quality
	half, beta float64 // half lift and line of centres, °
	lock, push float64 // °/s²: against it to the impulse, along it after
	impulse    float64 // share of the lift where the impulse begins
}

// pull is the angular acceleration at angle and speed.
func (b balance) pull(x, v float64) float64 {
	a := -b.omega*b.omega*x - b.omega/b.q*v
	way := math.Copysign(1, v)
	switch y := way * (x - b.beta); {
	case y < -b.half || y > b.half:
	case y < -b.half+2*b.half*b.impulse:
		a -= way * b.lock
	default:
		a += way * b.push
	}
	return a
}

// step is one of Runge and Kutta's fourth order.
func (b balance) step(x, v, dt float64) (float64, float64) {
	k1, l1 := v, b.pull(x, v)
	k2, l2 := v+dt/2*l1, b.pull(x+dt/2*k1, v+dt/2*l1)
	k3, l3 := v+dt/2*l2, b.pull(x+dt/2*k2, v+dt/2*l2)
	k4, l4 := v+dt*l3, b.pull(x+dt*k3, v+dt*l3)
	return x + dt/6*(k1+2*k2+2*k3+k4), v + dt/6*(l1+2*l2+2*l3+l4)
}

// driven balances the losses of a swing of the amplitude: per half swing
// π/(2Q)·ω²A² in these units.
func driven(period, q, lift, beta, amplitude float64) balance {
	b := balance{omega: 2 * math.Pi / period, q: q, half: lift / 2, beta: beta, impulse: 0.3}
	loss := math.Pi / (2 * q) * b.omega * b.omega * amplitude * amplitude
	b.lock = 0.2 * loss / lift
	b.push = (loss + b.lock*0.3*lift) / (0.7 * lift)
	return b
}

// swings lists, from the release at −amplitude, the times of entering and
// leaving the lift and the height of each turn.
func (b balance) swings(amplitude, seconds float64) (in, out, turns []float64) {
	const dt = 5e-6
	x, v := -amplitude, 0.0
	turns = []float64{amplitude}
	for i := 0; float64(i)*dt < seconds; i++ {
		nx, nv := b.step(x, v, dt)
		t := float64(i) * dt
		way := math.Copysign(1, nv)
		for _, edge := range []float64{-b.half, b.half} {
			p, n := way*(x-b.beta)-edge, way*(nx-b.beta)-edge
			if p < 0 && n >= 0 {
				at := t + dt*p/(p-n)
				if edge < 0 {
					in = append(in, at)
				} else {
					out = append(out, at)
				}
			}
		}
		if v != 0 && math.Signbit(v) != math.Signbit(nv) {
			turns = append(turns, math.Abs(nx))
		}
		x, v = nx, nv
	}
	return in, out, turns
}

// The times by asin stand against a balance that is damped and driven. The
// lever takes and gives π/(2Q) of the energy within one passage, so the speed
// there, and with it the interval, may differ by up to half of that: 0.4 % at
// a quality of 200. The beat error may differ by 2 %.
func TestTimesAgainstIntegration(t *testing.T) {
	for _, c := range []struct{ vph, lift, beta, amplitude float64 }{
		{28800, 52, 0, 290},
		{28800, 50, 2.5, 220},
		{18000, 44, 1.5, 150},
		{21600, 54, -2, 80},
	} {
		period := 7200 / c.vph
		b := driven(period, 200, c.lift, c.beta, c.amplitude)
		in, out, turns := b.swings(c.amplitude, 12*period)
		var swing, interval, sides float64
		n := len(out) - 2
		for i := 2; i < n; i++ {
			swing += (turns[i] + turns[i+1]) / 2 / float64(n-2)
			interval += (out[i] - in[i]) / float64(n-2)
		}
		for i := 2; i+2 < n; i += 2 {
			middle := func(k int) float64 { return (in[k] + out[k]) / 2 }
			sides += (middle(i+1) - (middle(i)+middle(i+2))/2) / float64((n-3)/2)
		}
		m := motion{period: period, amplitude: swing, beta: c.beta}
		second := m
		second.side = 1
		half := c.lift / 2
		asin := m.after(half) - m.after(-half)
		near(t, "interval, s", interval, asin, math.Pi/(4*b.q)*asin)
		want := (second.after(half) + second.after(-half) - m.after(half) - m.after(-half)) / 2
		near(t, "beat error, s", sides, want, 1e-6+0.02*math.Abs(want))
		if math.Abs(swing-c.amplitude) > 0.05*c.amplitude {
			t.Errorf("the balance swings %g°, not about %g°: nothing was tested", swing, c.amplitude)
		}
	}
}
