package web_test

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"image/jpeg"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"beatwright"
)

// heic is the head of a picture as phones make them, which browsers do not
// show: a box ftyp of brand heic (ISO/IEC 14496-12, from memory).
var heic = append([]byte("\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic"), make([]byte, 200)...)

// bomb says in its header that it is 60 000 × 60 000 pixels.
func bomb(t *testing.T) []byte {
	b := bytes.Clone(painting(t, 8, 8, 1))
	binary.BigEndian.PutUint32(b[16:], 60000)
	binary.BigEndian.PutUint32(b[20:], 60000)
	binary.BigEndian.PutUint32(b[29:], crc32.ChecksumIEEE(b[12:29])) // of the chunk IHDR (PNG, 5.3)
	return b
}

// TestPicturesAreKept: numbered for life, in copies that hold no more than
// pixels, the original as it came.
func TestPicturesAreKept(t *testing.T) {
	t.Parallel()
	w := newWorkshop(t)
	number := w.aJob()
	original := painting(t, 2000, 1000, 9)
	st, to := w.send("/jobs/"+number+"/pictures", map[string]string{"says": "the crown, worn"}, part{"picture", "../../etc/crown.png", original}, part{"picture", "b.png", painting(t, 100, 50, 2)})
	if st != http.StatusSeeOther || to != "/jobs/"+number+"#pictures" {
		t.Fatalf("%d %s", st, to)
	}
	p, _ := w.bench.Job(t.Context(), number)
	if len(p.Pictures) != 2 || p.Pictures[0].Number != 1 || p.Pictures[1].Number != 2 || p.Pictures[0].Says != "the crown, worn" {
		t.Fatalf("kept: %+v", p.Pictures)
	}
	id := string(p.Pictures[0].ID)
	for size, width := range map[string]int{"thumb": 320, "view": 1600} {
		res, err := w.Client().Get(w.URL + "/pictures/" + id + "/" + size)
		if err != nil {
			t.Fatal(err)
		}
		st, body := read(t, res)
		c, err := jpeg.DecodeConfig(strings.NewReader(body))
		if st != http.StatusOK || err != nil || c.Width != width || c.Height != width/2 || res.Header.Get("Content-Type") != "image/jpeg" {
			t.Errorf("%s: %d %dx%d %v", size, st, c.Width, c.Height, err)
		}
		if got := res.Header.Get("Cache-Control"); got != "private, max-age=31536000, immutable" {
			t.Errorf("%s: Cache-Control %q", size, got)
		}
	}
	if st, body := w.get("/pictures/" + id + "/original"); st != http.StatusOK || body != string(original) {
		t.Errorf("the original is not as it came: %d", st)
	}
	for _, path := range []string{"/pictures/" + id + "/huge", "/pictures/none/view", "/pictures/..%2f..%2frecord.sqlite/original", "/jobs/" + number + "/pictures/3", "/jobs/" + number + "/pictures/x"} {
		if st, _ := w.get(path); st != http.StatusNotFound {
			t.Errorf("%s: %d, want 404", path, st)
		}
	}
	_, text := w.get("/jobs/" + number + "/pictures")
	says(t, "all pictures", text, "2 pictures of Quellmar Daycall", "the crown, worn", "/pictures/2\"")
	// Copies that are gone are made again.
	copies := filesIn(filepath.Join(w.bench.Folder.Dir(), "thumbnails"))
	if len(copies) != 4 {
		t.Errorf("%d copies of two pictures, want 4", len(copies))
	}
	for _, c := range copies {
		os.Remove(c)
	}
	if st, _ := w.get("/pictures/" + id + "/view"); st != http.StatusOK {
		t.Errorf("a copy that is gone: %d", st)
	}
}

// TestPicturePage: words are changed, the picture goes and comes back, and
// with it what its finding says of it.
func TestPicturePage(t *testing.T) {
	t.Parallel()
	w := newWorkshop(t)
	number := w.aJob()
	p, _ := w.bench.Job(t.Context(), number)
	f := &beatwright.Finding{Entry: beatwright.Entry{ID: beatwright.NewID(p.Job.Opened)}, Job: p.Job.ID, What: "crown worn smooth", At: p.Job.Opened}
	if _, err := w.bench.Apply(t.Context(), beatwright.Change{What: "found", Job: p.Job.ID, Put: []beatwright.Thing{f}}); err != nil {
		t.Fatal(err)
	}
	pictures := "/jobs/" + number + "/pictures"
	w.send(pictures, map[string]string{"finding": string(f.ID)}, part{"picture", "a.png", painting(t, 60, 40, 3)})
	w.send(pictures, nil, part{"picture", "b.png", painting(t, 60, 40, 4)})
	_, text := w.get(pictures + "/1")
	says(t, "the picture", text, "Picture 1", "crown worn smooth", `data-key="arrowright"`)
	_, text = w.post(pictures+"/1", "says", "teeth of the crown")
	says(t, "with words", text, "Picture 1: teeth of the crown")
	if st, _ := w.post(pictures + "/1/delete"); st != http.StatusOK {
		t.Fatalf("delete: %d", st)
	}
	p, _ = w.bench.Job(t.Context(), number)
	if len(p.Pictures) != 1 || len(p.Findings[0].Pictures) != 0 {
		t.Errorf("after delete: %d pictures, the finding names %d", len(p.Pictures), len(p.Findings[0].Pictures))
	}
	w.takeBack(number)
	p, _ = w.bench.Job(t.Context(), number)
	if len(p.Pictures) != 2 || len(p.Findings[0].Pictures) != 1 || p.Pictures[0].Number != 1 {
		t.Errorf("after undo: %d pictures, the finding names %d", len(p.Pictures), len(p.Findings[0].Pictures))
	}
}

// TestBadPictures say what happened and what to do, and leave nothing, neither
// in the record nor in the folder.
func TestBadPictures(t *testing.T) {
	t.Parallel()
	w := newWorkshop(t)
	number := w.aJob()
	good := painting(t, 300, 200, 5)
	for _, c := range []struct {
		name  string
		parts []part
		want  []string
	}{
		{"HEIC", []part{{"picture", "IMG_1.HEIC", heic}}, []string{"IMG_1.HEIC", "HEIC", "nothing was kept of it"}},
		{"not a picture", []part{{"picture", "notes.jpg", []byte("dear watchmaker")}}, []string{"notes.jpg", "send JPEG"}},
		{"bomb", []part{{"picture", "b.png", bomb(t)}}, []string{"b.png", "smaller"}},
		{"cut short", []part{{"picture", "c.png", good[:len(good)/2]}}, []string{"c.png", "broken", "send it again"}},
		{"empty", []part{{"picture", "d.png", nil}}, []string{"d.png"}},
		{"none", nil, []string{"o picture came with it"}},
		{"one of two", []part{{"picture", "good.png", good}, {"picture", "bad.png", []byte("x")}}, []string{"bad.png", "none of the 2 pictures was kept"}},
	} {
		st, text := w.send("/jobs/"+number+"/pictures", nil, c.parts...)
		if st != http.StatusUnprocessableEntity {
			t.Errorf("%s: %d", c.name, st)
		}
		says(t, c.name, text, c.want...)
	}
	if st, _ := w.send("/jobs/"+number+"/pictures", map[string]string{"finding": "none"}, part{"picture", "good.png", good}); st != http.StatusNotFound {
		t.Errorf("of a finding that is not there: %d", st)
	}
	st, _ := w.raw("/jobs/"+number+"/pictures", "multipart/form-data; boundary=b", strings.NewReader("--b\r\nContent-Disposition: form-data; name=\"picture\"; filename=\"x.png\"\r\n\r\n\x89PNG"))
	if st != http.StatusUnprocessableEntity {
		t.Errorf("a form that breaks off: %d", st)
	}
	if p, _ := w.bench.Job(t.Context(), number); len(p.Pictures) != 0 {
		t.Errorf("%d pictures stand in the record", len(p.Pictures))
	}
	for _, dir := range []string{"pictures", "thumbnails", "incoming"} {
		if left := filesIn(filepath.Join(w.bench.Folder.Dir(), dir)); len(left) > 0 {
			t.Errorf("left behind: %v", left)
		}
	}
}

func filesIn(dir string) []string {
	var out []string
	filepath.WalkDir(dir, func(path string, d os.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			out = append(out, path)
		}
		return nil
	})
	return out
}
