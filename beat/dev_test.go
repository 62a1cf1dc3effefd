package beat

import (
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"github.com/mewkiz/flac"

	"beatwright/estimate"
	"beatwright/unit"
)

func readFLAC(path string) (x []float32, ch int, rate unit.Hertz) {
	s, err := flac.Open(path)
	if err != nil {
		panic(err)
	}
	rate = unit.Hertz(s.Info.SampleRate)
	ch = int(s.Info.NChannels)
	sc := 1 / float32(int(1)<<(s.Info.BitsPerSample-1))
	for {
		f, err := s.ParseNext()
		if err == io.EOF {
			return
		}
		for i := range f.Subframes[0].Samples {
			for c := range f.Subframes {
				x = append(x, float32(f.Subframes[c].Samples[i])*sc)
			}
		}
	}
}

func TestDevEngine(t *testing.T) {
	truth := map[string][]string{}
	fh, _ := os.Open("../../shared/hearings/TRUTH.csv")
	rows, _ := csv.NewReader(fh).ReadAll()
	for _, r := range rows {
		truth[r[0]] = r
	}
	for _, d := range []string{"hearings", "recordings"} {
		files, _ := filepath.Glob("../../shared/" + d + "/*.flac")
		for _, f := range files {
			x, ch, rate := readFLAC(f)
			e := New(rate, ch)
			t0 := time.Now()
			e.Push(x)
			e.Close()
			el := time.Since(t0)
			tr := truth[filepath.Base(f)]
			fmt.Printf("%-18s %.2fs runs=%d refused=%+v\n", filepath.Base(f), el.Seconds(), len(e.Runs()), e.Refused())
			for _, r := range e.Runs() {
				var X, Y []float64
				var S []int
				n := 0
				for _, s := range r.Segments {
					for _, b := range s.Beats {
						n++
						if b.Why == "" {
							X = append(X, float64(b.K))
							Y = append(Y, float64(b.At))
							S = append(S, b.Side())
						}
					}
				}
				if n == 0 {
					fmt.Println("  empty run")
					continue
				}
				l := estimate.FitLine(X, Y, S)
				nom, tru := 0.0, 0.0
				if tr != nil {
					nom, _ = strconv.ParseFloat(tr[1], 64)
					tru, _ = strconv.ParseFloat(tr[4], 64)
				}
				rate_ := 86400 * (3600/nom/l.Slope - 1)
				es := (l.Offset[1] - l.Offset[0]) * 1e3 / 2
				fmt.Printf("    segs=%d n=%d kept %d  %.2f-%.2f bph %.1f rate %8.3f err %7.3f  scatter %.1fus e=%.3f shift %.2f ms %s\n", len(r.Segments), n, len(X), Y[0], Y[len(Y)-1], 3600/l.Slope, rate_, rate_-tru, l.Scale*1e6, es, r.Shift*1e3, r.Ended)
			}
			if tr != nil {
				fmt.Println("        truth", tr[4], tr[5], tr[6])
			}
		}
	}
	_ = math.Pi
}
