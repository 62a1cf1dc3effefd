package sound

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"beatwright/unit"
)

// How long ffmpeg may be busy without giving anything before it is ended;
// chosen. The first sound comes within a second even from large files.
const (
	ffmpegFirst = 4 * time.Second
	ffmpegNext  = 20 * time.Second
)

// fewComplaints is how many error messages are passed over when no sound is
// missing; chosen: WavPack from a pipe gives four at its end.
const fewComplaints = 4

// ffmpegFormats are the containers that ffmpeg may open. None of them names
// other files or addresses: playlists, manifests, scripts, image series,
// devices and game archives are not among them.
const ffmpegFormats = "mov,matroska,ogg,aiff,wav,w64,caf,flac,mp3,aac,ac3,eac3,dts,dtshd,amr,amrnb,amrwb," +
	"ape,wv,tta,asf,avi,flv,mpeg,mpegts,au,voc,dsf,iff,mpc,mpc8,rm,loas,truehd,mlp,gsm,sbc,tak,shn,oma,xwma,ircam,nistsphere,paf,rso,sox,spdif,aptx"

// ffmpegLossless are the codecs, by ffmpeg's names, that give back what went
// in; names ending in _ stand for all that begin so. All others count as lossy.
var ffmpegLossless = []string{"pcm_", "dsd_", "alac", "flac", "wavpack", "tta", "ape", "tak", "shorten", "mlp", "truehd", "als", "wmalossless", "ralf"}

func ffmpegIsLossy(codec string) bool {
	if codec == "pcm_alaw" || codec == "pcm_mulaw" {
		return true // 8 bits for 13
	}
	for _, c := range ffmpegLossless {
		if c == codec || strings.HasSuffix(c, "_") && strings.HasPrefix(codec, c) {
			return false
		}
	}
	return true
}

// ffmpegReader reads what ffmpeg decodes: a WAV of 32-bit float in a pipe.
type ffmpegReader struct {
	wav    *pcmReader
	name   string
	format Format
	cmd    *exec.Cmd
	cancel context.CancelFunc
	out    io.ReadCloser
	log    *ffmpegLog
	feed   *feeder
	alive  sync.WaitGroup
	wait   sync.Once
	exit   error
	warn   []string
}

// newFFmpeg starts ffmpeg on the file at path or, if that is empty, on what
// comes from r. k is what the content seems to be.
func newFFmpeg(ctx context.Context, name string, r io.Reader, path string, k kind) (Reader, error) {
	bin, err := exec.LookPath("ffmpeg")
	if err != nil {
		return nil, needFFmpeg(name, k)
	}
	f := &ffmpegReader{name: name, log: &ffmpegLog{}}
	ctx, f.cancel = context.WithCancel(ctx)
	if err := f.start(ctx, bin, r, path); err != nil {
		f.cancel()
		return nil, because(name, "ffmpeg did not start", "check its installation, or convert the sound to WAV or FLAC", err)
	}
	if err := f.open(ctx, k); err != nil {
		f.Close()
		return nil, err
	}
	return f, nil
}

func needFFmpeg(name string, k kind) error {
	if k.name == "" {
		return unreadable(name, "not a kind of sound that is read here", "install ffmpeg, which reads more, or convert it to WAV or FLAC")
	}
	return unreadable(name, "this looks like %s", "install ffmpeg, or convert it to WAV or FLAC", k.name)
}

// ffmpegArgs makes the command line. The name goes in as file:/…, so that
// neither a dash nor a colon in it means anything.
func ffmpegArgs(path string) ([]string, error) {
	input := "pipe:0"
	if path != "" {
		abs, err := filepath.Abs(path)
		if err != nil {
			return nil, err
		}
		input = "file:" + abs
	}
	return []string{
		"-nostdin", "-hide_banner", "-nostats", "-loglevel", "level+info", "-max_alloc", "268435456", "-threads", "1",
		"-protocol_whitelist", "file,pipe", "-format_whitelist", ffmpegFormats, "-vn", "-sn", "-dn", "-i", input,
		"-map", "0:a:0", "-map_metadata", "-1", "-threads", "1", "-c:a", "pcm_f32le", "-fflags", "+bitexact", "-f", "wav", "pipe:1",
	}, nil
}

func (f *ffmpegReader) start(ctx context.Context, bin string, r io.Reader, path string) error {
	args, err := ffmpegArgs(path)
	if err != nil {
		return err
	}
	f.cmd = exec.CommandContext(ctx, bin, args...)
	f.cmd.WaitDelay = time.Second
	if f.out, err = f.cmd.StdoutPipe(); err != nil {
		return err
	}
	stderr, err := f.cmd.StderrPipe()
	if err != nil {
		return err
	}
	var stdin io.WriteCloser
	if path == "" {
		if stdin, err = f.cmd.StdinPipe(); err != nil {
			return err
		}
	}
	if err := f.cmd.Start(); err != nil {
		return err
	}
	f.alive.Go(func() { f.log.follow(stderr) })
	if stdin != nil {
		f.feed = &feeder{}
		// Not waited for: a Read of the caller's stream cannot be ended here.
		go f.feed.run(stdin, r)
	}
	return nil
}

// open reads the header that ffmpeg writes.
func (f *ffmpegReader) open(ctx context.Context, k kind) error {
	pipe := &patient{f: f, limit: ffmpegFirst}
	h, err := readWAVHead(pipe)
	if err != nil {
		if ctx.Err() != nil {
			return fmt.Errorf("read %s: %w", plainName(f.name), ctx.Err())
		}
		f.finish()
		return f.refused(k, pipe)
	}
	pipe.limit = ffmpegNext
	f.log.settled()
	code, err := h.coding()
	if err != nil {
		return because(f.name, "ffmpeg gave what cannot be read", doConvert, err)
	}
	f.format = h.format(code)
	f.format.Kind, f.format.Frames = f.log.codecName(), -1
	f.format.Lossy = ffmpegIsLossy(f.format.Kind)
	if d := f.log.length(); d > 0 {
		f.format.Frames = int64(float64(d) * float64(f.format.Rate))
	}
	if err := checkFormat(f.name, f.format); err != nil {
		return err
	}
	f.wav = newPCM(ctx, f.name, pipe, f.format, code, -1)
	return nil
}

// refused says why nothing came.
func (f *ffmpegReader) refused(k kind, p *patient) error {
	why := f.log.why()
	switch {
	case f.feed != nil && f.feed.failed() != nil:
		return readFailed(f.name, f.feed.failed())
	case p.gaveUp:
		return unreadable(f.name, "ffmpeg found no sound in it within %.0f s", doConvert, ffmpegFirst.Seconds())
	case strings.Contains(why, "matches no streams"):
		return unreadable(f.name, "there is no sound in it", "name a recording with sound")
	case k.name == "":
		return unreadable(f.name, "not a kind of sound that is known here or to ffmpeg", "name a sound file, or convert it to WAV or FLAC")
	case f.feed != nil && strings.Contains(why, "moov"):
		return unreadable(f.name, "this looks like %s, which cannot be read from a pipe", "give it as a file", k.name)
	case why == "":
		return unreadable(f.name, "this looks like %s, but ffmpeg finds no sound in it", "copy the file again", k.name)
	}
	return unreadable(f.name, "this looks like %s, but ffmpeg cannot read it: %s", "copy the file again", k.name, why)
}

func (f *ffmpegReader) Format() Format { return f.format }

// Read gives what ffmpeg has decoded.
func (f *ffmpegReader) Read(dst []float32) (int, error) {
	n, err := f.wav.Read(dst)
	if err == io.EOF {
		f.finish()
	}
	return n, err
}

// finish waits for the end of ffmpeg, whose output has ended.
func (f *ffmpegReader) finish() {
	f.wait.Do(func() {
		f.alive.Wait() // all of stderr is read before Wait closes it
		f.exit = f.cmd.Wait()
		// A few complaints with nothing missing are about a tag at the end.
		whole := f.wav != nil && f.format.Frames > 0 && f.wav.got >= f.format.Frames
		if n := f.log.errors(); f.exit != nil || n > fewComplaints || n > 0 && !whole {
			f.warn = append(f.warn, "ffmpeg could not decode all of it: "+f.log.why())
		}
		// Lossy containers tell their length loosely.
		if f.wav != nil && f.format.Frames > 0 && float64(f.wav.got) < 0.95*float64(f.format.Frames)-float64(f.format.Rate) {
			f.warn = append(f.warn, endsEarly(f.format, f.wav.got))
		}
		if f.feed != nil && f.feed.failed() != nil {
			f.warn = append(f.warn, "the stream broke off: "+oneLine(f.feed.failed().Error()))
		}
	})
}

// Warnings tells what was amiss.
func (f *ffmpegReader) Warnings() []string { return append(f.wav.Warnings(), f.warn...) }

// Close ends ffmpeg.
func (f *ffmpegReader) Close() error {
	f.cancel()
	f.out.Close()
	f.finish()
	if f.wav != nil {
		f.wav.Close()
	}
	return nil
}

// patient reads ffmpeg's output and ends ffmpeg when, wanted and not itself
// waiting for input, it gives nothing for too long.
type patient struct {
	f      *ffmpegReader
	limit  time.Duration
	gaveUp bool
}

var errStuck = errors.New("ffmpeg stopped giving sound")

func (p *patient) Read(b []byte) (int, error) {
	var fired atomic.Bool
	done := make(chan struct{})
	timer := time.AfterFunc(p.limit, func() { p.watch(done, &fired) })
	n, err := p.f.out.Read(b)
	close(done)
	timer.Stop()
	if err != nil && fired.Load() {
		p.gaveUp = true
		return n, unreadable(p.f.name, "%v after %.0f s without any", doConvert, errStuck, p.limit.Seconds())
	}
	return n, err
}

// watch ends ffmpeg, unless it waits for the caller's stream, or until done.
func (p *patient) watch(done chan struct{}, fired *atomic.Bool) {
	for p.f.feed != nil && p.f.feed.idle(p.limit) {
		select {
		case <-done:
			return
		case <-time.After(p.limit / 8):
		}
	}
	select {
	case <-done:
	default:
		fired.Store(true)
		p.f.cancel()
	}
}

// feeder carries the caller's stream to ffmpeg.
type feeder struct {
	reading atomic.Bool
	since   atomic.Int64 // when the stream last gave something
	mu      sync.Mutex
	err     error
}

func (d *feeder) run(to io.WriteCloser, from io.Reader) {
	defer to.Close()
	buf := make([]byte, 64<<10)
	for {
		d.reading.Store(true)
		n, err := from.Read(buf)
		d.since.Store(time.Now().UnixNano())
		d.reading.Store(false)
		if n > 0 {
			if _, err := to.Write(buf[:n]); err != nil {
				return // ffmpeg is gone or has enough
			}
		}
		if err != nil {
			if err != io.EOF {
				d.mu.Lock()
				d.err = err
				d.mu.Unlock()
			}
			return
		}
	}
}

// idle says that the stream, not ffmpeg, is what is waited for, or was until
// less than limit ago.
func (d *feeder) idle(limit time.Duration) bool {
	return d.reading.Load() || time.Since(time.Unix(0, d.since.Load())) < limit
}

func (d *feeder) failed() error {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.err
}

// clockTime reads ffmpeg's hh:mm:ss.ss.
func clockTime(s string) unit.Seconds {
	var h, m int
	var sec float64
	if n, _ := fmt.Sscanf(s, "%d:%d:%f", &h, &m, &sec); n != 3 || h < 0 || m < 0 || !(sec >= 0) {
		return 0
	}
	return unit.Seconds(float64(h)*3600 + float64(m)*60 + sec)
}
