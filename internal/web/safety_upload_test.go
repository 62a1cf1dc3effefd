package web_test

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"io"
	"io/fs"
	"mime/multipart"
	"net/http"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// kept lists the files of the workshop that hold sound and pictures, those that
// are still coming in too, and what lies about for a time.
func (w *workshop) kept(temporary string) []string {
	w.t.Helper()
	var out []string
	for _, dir := range []string{"sound", "pictures", "thumbnails", "incoming", temporary} {
		if !filepath.IsAbs(dir) {
			dir = filepath.Join(w.bench.Folder.Dir(), dir)
		}
		err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
			if err == nil && !d.IsDir() {
				out = append(out, path)
			}
			return err
		})
		if err != nil {
			w.t.Fatal(err)
		}
	}
	return out
}

func (w *workshop) acts() int64 {
	w.t.Helper()
	h, err := w.bench.History(w.t.Context(), "", 0, 1)
	if err != nil || len(h) == 0 {
		w.t.Fatal(err, h)
	}
	return h[0].Number
}

// hugePNG says that it has 40 000 by 40 000 pixels and brings none. Its form is
// PNG's: signature, then the chunk IHDR with its check sum (from memory).
func hugePNG() []byte {
	b := bytes.NewBufferString("\x89PNG\r\n\x1a\n")
	head := append([]byte("IHDR"), 0, 0, 0x9c, 0x40, 0, 0, 0x9c, 0x40, 8, 6, 0, 0, 0)
	_ = binary.Write(b, binary.BigEndian, uint32(13))
	b.Write(head)
	_ = binary.Write(b, binary.BigEndian, crc32.ChecksumIEEE(head))
	return b.Bytes()
}

// TestWhatIsRefusedIsNotKept: what cannot be taken is refused in words on the
// page and in JSON by the API; neither a file nor a line of history comes of it.
func TestWhatIsRefusedIsNotKept(t *testing.T) {
	temporary := t.TempDir()
	t.Setenv("TMPDIR", temporary)
	w := newWorkshop(t)
	number := w.aJob()
	wav := clip{rate: 5, beatError: 1, amplitude: 250, noise: 40}.wav(t)
	text := []byte("Bring it back on Thursday.\n")
	picture := painting(t, 60, 40, 1)
	svg := []byte(`<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>`)
	for _, tt := range []struct {
		name, kind string
		part       part
		fields     map[string]string
		says       string
	}{
		{"text as sound", "hearings", part{"sound", "a.wav", text}, nil, "sound"},
		{"a picture as sound", "hearings", part{"sound", "a.wav", picture}, nil, "sound"},
		{"nothing as sound", "hearings", part{"sound", "a.wav", nil}, nil, "sound"},
		{"a head without sound", "hearings", part{"sound", "a.wav", wav[:20]}, nil, "sound"},
		{"under another field", "hearings", part{"sounds", "a.wav", wav}, nil, "no recording"},
		{"a playlist", "hearings", part{"sound", "a.m3u8", []byte("#EXTM3U\n#EXTINF:1,\nfile:///etc/passwd\n")}, nil, "sound"},
		{"no such position", "hearings", part{"sound", "a.wav", wav}, map[string]string{"position": "sideways"}, "position"},
		{"no such stage", "hearings", part{"sound", "a.wav", wav}, map[string]string{"stage": "never"}, "stage"},
		{"no such lift", "hearings", part{"sound", "a.wav", wav}, map[string]string{"lift_deg": "400"}, "lift"},
		{"no number", "hearings", part{"sound", "a.wav", wav}, map[string]string{"temperature_c": "NaN"}, "temperature"},
		{"sound as picture", "pictures", part{"picture", "a.png", wav}, nil, "picture"},
		{"text as picture", "pictures", part{"picture", "a.jpg", text}, nil, "picture"},
		{"a drawing that can act", "pictures", part{"picture", "a.png", svg}, nil, "picture"},
		{"nothing as picture", "pictures", part{"picture", "a.png", nil}, nil, "picture"},
		{"half a picture", "pictures", part{"picture", "a.png", picture[:len(picture)/2]}, nil, "picture"},
		{"too many pixels", "pictures", part{"picture", "a.png", hugePNG()}, nil, "pixels"},
		{"of no such finding", "pictures", part{"picture", "a.png", picture}, map[string]string{"finding": "zz"}, "finding"},
	} {
		for _, front := range []string{"/jobs/", "/api/jobs/"} {
			t.Run(tt.name+front, func(t *testing.T) {
				before, acts := w.kept(temporary), w.acts()
				st, answer := w.send(front+number+"/"+tt.kind, tt.fields, tt.part)
				if st < 400 || st >= 500 {
					t.Errorf("answered %d: %.300s", st, answer)
				}
				if !strings.Contains(strings.ToLower(answer), tt.says) {
					t.Errorf("does not speak of %q: %.600s", tt.says, answer)
				}
				if after := w.kept(temporary); !slices.Equal(before, after) {
					t.Errorf("kept files went from %q to %q", before, after)
				}
				if now := w.acts(); now != acts {
					t.Errorf("%d lines of history came of it", now-acts)
				}
			})
		}
	}
}

// TestOnePictureOfManyIsRefused: all are kept or none.
func TestOnePictureOfManyIsRefused(t *testing.T) {
	temporary := t.TempDir()
	t.Setenv("TMPDIR", temporary)
	w := newWorkshop(t)
	number := w.aJob()
	st, _ := w.send("/jobs/"+number+"/pictures", nil, part{"picture", "a.png", painting(t, 60, 40, 1)}, part{"picture", "b.png", []byte("no picture")})
	if st < 400 || len(w.kept(temporary)) != 0 {
		t.Errorf("answered %d, kept %q", st, w.kept(temporary))
	}
}

// TestNamesOfFilesAreOnlyWords: whatever a file is called, it lands under a name
// made from its content, and is called by the end of its name.
func TestNamesOfFilesAreOnlyWords(t *testing.T) {
	temporary := t.TempDir()
	t.Setenv("TMPDIR", temporary)
	w := newWorkshop(t)
	number := w.aJob()
	wav := clip{rate: 5, beatError: 1, amplitude: 250, noise: 40}.wav(t)
	for _, name := range []string{
		"../../../outside.wav", `..\..\outside.wav`, "/etc/outside.wav", "C:\\outside.wav", "..", ".", "a\x00b.wav", "a\r\nb.wav", "<script>alert(1)</script>.wav",
		strings.Repeat("long", 2500) + ".wav", "\xff\xfe.wav", "-rf.wav", "CON.wav", "a\u202egnp.wav",
	} {
		st, to := w.send("/jobs/"+number+"/hearings", nil, part{"sound", name, wav})
		if st >= 500 {
			t.Errorf("%.40q is answered %d: %.300s", name, st, to)
		}
		if st != http.StatusSeeOther {
			t.Logf("%.40q is refused with %d", name, st)
		}
	}
	for _, path := range w.kept(temporary) {
		inside, err := filepath.Rel(w.bench.Folder.Dir(), path)
		base := strings.TrimSuffix(filepath.Base(path), ".flac")
		if err != nil || !strings.HasPrefix(inside, "sound") || strings.Trim(base, "0123456789abcdef-") != "" {
			t.Errorf("kept is %q", path)
		}
	}
	p, err := w.bench.Job(t.Context(), number)
	if err != nil {
		t.Fatal(err)
	}
	for _, h := range p.Hearings {
		if len(h.From) > 256 || strings.ContainsAny(h.From, "/\\\x00\n\r") {
			t.Errorf("a hearing is said to come from %.60q (%d bytes)", h.From, len(h.From))
		}
		if st, text := w.get("/jobs/" + number + "/hearings/" + string(h.ID)); st != 200 {
			t.Errorf("the hearing of %.40q is answered %d", h.From, st)
		} else {
			strictPage(t, h.From, text)
		}
	}
}

// TestTooLarge: more than is taken is refused in words, with 413, and nothing
// is kept of it, neither in the folder nor beside it.
func TestTooLarge(t *testing.T) {
	temporary := t.TempDir()
	t.Setenv("TMPDIR", temporary)
	w := newWorkshop(t)
	number := w.aJob()
	long := strings.Repeat("z", 3<<20)
	acts := w.acts()
	const form = "application/x-www-form-urlencoded"
	for _, tt := range []struct{ path, kind, body string }{
		{"/jobs", form, "kind=alarm&complaint=" + long},
		{"/jobs/" + number + "/notes", form, "text=" + long},
		{"/jobs/" + number + "/intake", form, "tap=ca.case&note=" + long},
		{"/jobs/" + number + "/wishes", form, "limit=" + long},
		{"/settings", form, "name=" + long},
		{"/owners", form, "name=" + long},
		{"/movements", form, "name=" + long},
		{"/undo", form, "back=/&change=" + long},
		{"/api/jobs", "application/json", `{"complaint":"` + long + `"}`},
		{"/api/changes", "application/json", `{"what":"` + long + `"}`},
	} {
		st, text := w.raw(tt.path, tt.kind, strings.NewReader(tt.body))
		if st != http.StatusRequestEntityTooLarge || !strings.Contains(text, "too large") || !strings.Contains(text, "nothing was kept") {
			t.Errorf("%s answers %d: %.300s", tt.path, st, text)
		}
		var b bytes.Buffer
		m := multipart.NewWriter(&b)
		if tt.kind != form {
			continue
		}
		_ = m.WriteField("name", long)
		m.Close()
		if st, text := w.raw(tt.path, m.FormDataContentType(), &b); st != http.StatusRequestEntityTooLarge {
			t.Errorf("%s in parts answers %d: %.300s", tt.path, st, text)
		}
	}
	if now := w.acts(); now != acts || len(w.jobs()) != 1 {
		t.Errorf("%d lines of history came of it, and there are %d jobs", now-acts, len(w.jobs()))
	}
	if left := w.kept(temporary); len(left) != 0 {
		t.Errorf("kept are %q", left)
	}
}

// TestTooManyPictures: more than one request may bring, streamed.
func TestTooManyPictures(t *testing.T) {
	if testing.Short() {
		t.Skip("writes 200 MB")
	}
	temporary := t.TempDir()
	t.Setenv("TMPDIR", temporary)
	w := newWorkshop(t)
	number := w.aJob()
	head := "--b\r\nContent-Disposition: form-data; name=\"picture\"; filename=\"a.png\"\r\n\r\n"
	body := io.MultiReader(strings.NewReader(head), io.LimitReader(zeros{}, 201<<20), strings.NewReader("\r\n--b--\r\n"))
	st, text := w.raw("/jobs/"+number+"/pictures", "multipart/form-data; boundary=b", body)
	if st != http.StatusRequestEntityTooLarge || !strings.Contains(text, "too large") {
		t.Errorf("answered %d: %.300s", st, text)
	}
	if left := w.kept(temporary); len(left) != 0 {
		t.Errorf("kept are %q", left)
	}
	if p, err := w.bench.Job(t.Context(), number); err != nil || len(p.Pictures) != 0 {
		t.Errorf("pictures kept: %v, %v", p.Pictures, err)
	}
}

type zeros struct{}

func (zeros) Read(b []byte) (int, error) { clear(b); return len(b), nil }
