package explain

import (
	"fmt"
	"io"
	"math"
	"strings"
	"unicode/utf8"

	"beatwright/estimate"
	"beatwright/grade"
	"beatwright/internal/say"
	"beatwright/poise"
	"beatwright/position"
	"beatwright/round"
)

const perDay = "s/d"

// WriteText writes the report for a person: the rounds as tables, then what
// they say in sentences, then what they cannot say.
func (r Report) WriteText(w io.Writer) error {
	var b strings.Builder
	for _, rd := range r.Table.Rounds {
		r.roundText(&b, rd)
	}
	b.WriteString(fmt.Sprintf("± is 95 %%. Beside a rate it is what the sound alone leaves open; the clock, ± %s, is shared by all\n"+
		"and enters the mean, not the differences. Beside an amplitude it takes the lift angle as given.\n\n",
		say.Unit(say.Uncertainty(r.o.clock()), perDay)))
	if r.Main != nil {
		r.summaryText(&b)
		r.changesText(&b)
		r.poiseText(&b)
		r.gradesText(&b)
	}
	for i, s := range r.Warnings {
		if i == 0 {
			b.WriteString("Note\n")
		}
		b.WriteString("  " + s + ".\n")
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func (r Report) roundText(b *strings.Builder, rd round.Round) {
	fmt.Fprintf(b, "%s\n", capital(rd.State.Words()))
	rows := [][]string{{"position", "", "rate, s/d", "beat error, ms", "amplitude"}}
	for _, p := range rd.Readings {
		rows = append(rows, []string{
			p.Position.String(), p.Position.Words(r.o.crown()), ownText(p.Rate), r.beatText(p), swingText(p),
		})
	}
	columnsText(b, rows)
	b.WriteString("\n")
}

func ownText(e *estimate.Estimate) string {
	if e == nil {
		return say.Dash
	}
	return say.SignedWith(e.Value, e.Own, "")
}

func (r Report) beatText(rd round.Reading) string {
	if rd.BeatError == nil {
		return say.Dash
	}
	s := say.With(rd.BeatError.Value, rd.BeatError.U95(), "")
	if d := r.Degrees(rd); d != nil {
		s += ", " + say.With(d.Value, d.U95(), "°")
	}
	return s
}

func swingText(rd round.Reading) string {
	switch {
	case rd.Amplitude == nil:
		return say.Dash
	case rd.Standing == round.AtMost:
		return "at most " + say.Fixed(rd.Amplitude.Value, 0) + "°"
	case rd.Contradicted != "":
		return say.With(rd.Amplitude.Value, without(*rd.Amplitude, liftTerm), "°") + " contradicted"
	}
	return say.With(rd.Amplitude.Value, without(*rd.Amplitude, liftTerm), "°")
}

// columnsText aligns cells by their width in characters.
func columnsText(b *strings.Builder, rows [][]string) {
	width := make([]int, len(rows[0]))
	for _, row := range rows {
		for i, c := range row {
			width[i] = max(width[i], utf8.RuneCountInString(c))
		}
	}
	for _, row := range rows {
		line := " "
		for i, c := range row {
			line += " " + c + strings.Repeat(" ", width[i]-utf8.RuneCountInString(c)+1)
		}
		b.WriteString(strings.TrimRight(line, " ") + "\n")
	}
}

func (r Report) summaryText(b *strings.Builder) {
	fmt.Fprintf(b, "Together (%s)\n", r.Main.State.Words())
	s := r.Sum
	if s.MeanRate != nil {
		fmt.Fprintf(b, "  Mean of %s: %s, clock included.\n", count(s.Positions, "position", "positions"), rateText(*s.MeanRate))
	}
	if s.Spread != nil {
		fmt.Fprintf(b, "  Widest apart: %s, %s to %s%s.\n", say.With(s.Spread.Value, s.Spread.U95(), perDay),
			s.Spread.Slowest, s.Spread.Fastest, chanceText(*s.Spread))
	}
	differenceText(b, "Level less upright, rate", s.FlatLessUprightRate, perDay, "neither is faster")
	differenceText(b, "Level less upright, amplitude", s.FlatLessUprightAmplitude, "°", "neither swings further")
	differenceText(b, "Dial up less dial down, rate", s.UpLessDownRate, perDay, "neither is faster")
	differenceText(b, "Dial up less dial down, amplitude", s.UpLessDownAmplitude, "°", "neither swings further")
}

func chanceText(s round.Spread) string {
	if s.Clear() {
		return ""
	}
	return ": no more than their doubt alone would give, so no position is told from another"
}

// differenceText calls a difference within its doubt none.
func differenceText(b *strings.Builder, what string, e *estimate.Estimate, unit, none string) {
	if e == nil {
		return
	}
	v := say.SignedWith(e.Value, e.U95(), unit)
	if !e.Clear() {
		v = "none (" + v + "): " + none
	}
	fmt.Fprintf(b, "  %s: %s.\n", what, v)
}

func rateText(e estimate.Estimate) string { return say.SignedWith(e.Value, e.U95(), perDay) }

func (r Report) changesText(b *strings.Builder) {
	changeText(b, r.Down)
	changeText(b, r.Run)
	for _, c := range r.Stages {
		changeText(b, &c)
	}
}

func changeText(b *strings.Builder, c *round.Change) {
	if c == nil {
		return
	}
	fmt.Fprintf(b, "  From %s to %s, %s:\n", c.From.Words(), c.To.Words(), count(len(c.Positions), "position", "positions"))
	differenceText(b, "  rate", c.Rate, perDay, "the rate does not change")
	differenceText(b, "  amplitude", c.Amplitude, "°", "the swing does not change")
	if len(c.Unlike) > 1 {
		fmt.Fprintf(b, "    More than one thing differs: %s.\n", strings.Join(c.Unlike, "; "))
	}
}

func (r Report) poiseText(b *strings.Builder) {
	b.WriteString("\nPoise of the balance\n")
	p := r.Poise
	switch {
	case p == nil:
		fmt.Fprintf(b, "  Cannot be told: %s.\n", r.WhyNoPoise)
		return
	case p.Standing == poise.NotResolved:
		fmt.Fprintf(b, "  No heavy side can be told: %s at %s of swing.\n", r.sizeText(), say.Unit(say.Fixed(p.Amplitude.Value, 0), "°"))
	default:
		fmt.Fprintf(b, "  Heavy towards %s: %s clockwise from the 12 seen from the dial, at rest in its case.\n",
			clock(p.HeavyPoint.Value), say.With(p.HeavyPoint.Value, p.HeavyPoint.U95(), "°"))
		fmt.Fprintf(b, "  As it lies, 12 on top: towards %s from the balance-cock side, %s from the roller side.\n",
			clock(p.FromCockSide().Value), clock(p.HeavyPoint.Value))
		fmt.Fprintf(b, "  Size: %s.\n", r.sizeText())
	}
	r.pullText(b)
	if worst := worstRest(p.Unexplained); worst != nil {
		fmt.Fprintf(b, "  Not explained by poise: up to %s at %s%s.\n", say.SignedWith(worst.Rate.Value, worst.Rate.U95(), perDay),
			worst.Position, clearText(worst.Rate))
	}
}

func clearText(e estimate.Estimate) string {
	if e.Clear() {
		return ", more than its doubt: something else is at work there"
	}
	return ", within its doubt"
}

// sizeText gives µg·mm when the inertia is known, else M/k.
func (r Report) sizeText() string {
	if r.Unbalance != nil {
		return say.With(r.Unbalance.Value, r.Unbalance.U95(), "µg·mm")
	}
	const micro = 1e6
	return "moment over stiffness " + say.With(r.Poise.MomentRatio.Value*micro, r.Poise.MomentRatio.U95()*micro, "µrad")
}

func (r Report) pullText(b *strings.Builder) {
	p := r.Poise.Pull
	switch {
	case p == nil:
	case p.Standing == poise.Measured:
		fmt.Fprintf(b, "  Beside it the hairspring's own pull: ± %s round the dial, fastest with %s up, whatever the swing.\n",
			say.With(p.Size.Value, p.Size.U95(), perDay), clockHour(p.FastHour))
	default:
		fmt.Fprintf(b, "  No pull of the hairspring's own is told beside it.\n")
	}
}

func worstRest(rs []poise.Rest) *poise.Rest {
	var worst *poise.Rest
	for i := range rs {
		if worst == nil || math.Abs(rs[i].Rate.Value) > math.Abs(worst.Rate.Value) {
			worst = &rs[i]
		}
	}
	return worst
}

// clock names a direction in degrees clockwise from the 12 by the nearest
// hour or half hour.
func clock(deg float64) string { return clockHour(deg/30) + " o'clock" }

func clockHour(hour float64) string {
	p := position.Vertical(hour)
	s := strings.Replace(p.String(), "H", ":", 1)
	return strings.TrimSuffix(s, ":")
}

func (r Report) gradesText(b *strings.Builder) {
	b.WriteString("\nAllowances\n")
	for _, v := range r.Grades {
		fmt.Fprintf(b, "  %s: %s.\n", v.Grade, v.Standing)
		for _, f := range v.Findings {
			if f.Standing != grade.Within {
				fmt.Fprintf(b, "    %s.\n", f.Words())
			}
		}
	}
	b.WriteString("\n")
}

func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
