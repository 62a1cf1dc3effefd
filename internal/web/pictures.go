package web

import (
	"mime/multipart"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"beatwright"
	"beatwright/internal/live"
)

// picturesView is every picture of a job.
type picturesView struct {
	Number   string                `json:"number"`
	Name     string                `json:"-"`
	Pictures []*beatwright.Picture `json:"pictures"`
}

func (s *Server) picturesPage(r *http.Request) (*shown, error) {
	p, err := s.papers(r)
	if err != nil {
		return nil, err
	}
	v := picturesView{Number: p.Job.Number, Name: p.Watch.Name(), Pictures: p.Pictures}
	return &shown{Title: p.Job.Number + " pictures", Nav: "Jobs", Where: p.Job.Number + " " + p.Watch.Name(), Job: p.Job.ID, View: v}, nil
}

// pictureView is one picture, large.
type pictureView struct {
	Number  string              `json:"number"`
	Picture *beatwright.Picture `json:"picture"`
	// Shows are the findings and functions that name it.
	Shows  []string            `json:"shows,omitempty"`
	Before *beatwright.Picture `json:"-"`
	After  *beatwright.Picture `json:"-"`
	Path   string              `json:"path"`
}

func (s *Server) picturePage(r *http.Request) (*shown, error) {
	p, pic, err := s.pictureOf(r)
	if err != nil {
		return nil, err
	}
	v := pictureView{Number: p.Job.Number, Picture: pic, Path: picturePath(p, pic)}
	i := slices.Index(p.Pictures, pic)
	if i > 0 {
		v.Before = p.Pictures[i-1]
	}
	if i+1 < len(p.Pictures) {
		v.After = p.Pictures[i+1]
	}
	for _, f := range p.Findings {
		if slices.Contains(f.Pictures, pic.ID) {
			v.Shows = append(v.Shows, f.What)
		}
	}
	for _, f := range p.Functions {
		if slices.Contains(f.Pictures, pic.ID) {
			v.Shows = append(v.Shows, f.What)
		}
	}
	title := p.Job.Number + " picture " + strconv.Itoa(pic.Number)
	return &shown{Title: title, Nav: "Jobs", Where: p.Job.Number + " " + p.Watch.Name(), Job: p.Job.ID, View: v}, nil
}

func picturePath(p *beatwright.Papers, pic *beatwright.Picture) string {
	return "/jobs/" + p.Job.Number + "/pictures/" + strconv.Itoa(pic.Number)
}

// pictureOf is the picture of a job that an address names by its number.
func (s *Server) pictureOf(r *http.Request) (*beatwright.Papers, *beatwright.Picture, error) {
	p, err := s.papers(r)
	if err != nil {
		return nil, nil, err
	}
	n, err := strconv.Atoi(r.PathValue("n"))
	i := slices.IndexFunc(p.Pictures, func(pic *beatwright.Picture) bool { return err == nil && pic.Number == n })
	if i < 0 {
		return nil, nil, beatwright.NotFound("picture", r.PathValue("n"))
	}
	return p, p.Pictures[i], nil
}

// addPictures keeps what was sent, dropped or pasted: all of it or nothing.
func (s *Server) addPictures(r *http.Request) (string, error) {
	_, err := s.keepPictures(r)
	if back := r.FormValue("back"); back != "" {
		return pathOf(back), err
	}
	return "/jobs/" + r.PathValue("number") + "#pictures", err
}

// keepPictures keeps the pictures of a multipart request, for page and API
// alike.
func (s *Server) keepPictures(r *http.Request) ([]*beatwright.Picture, error) {
	if err := r.ParseMultipartForm(memoryForm); err != nil {
		return nil, formError(err)
	}
	defer r.MultipartForm.RemoveAll()
	ups, closeAll, err := uploads(r.MultipartForm.File["picture"])
	defer closeAll()
	if err != nil {
		return nil, err
	}
	if len(ups) == 0 {
		return nil, &beatwright.Error{Code: beatwright.Wrong, Field: "picture", Text: "no picture came with it", Do: "choose one, or paste it"}
	}
	return s.bench.KeepPictures(r.Context(), r.PathValue("number"), live.Pictures{
		Uploads: ups, Finding: beatwright.ID(r.FormValue("finding")), Says: r.FormValue("says"), Who: s.who(r),
	})
}

func uploads(heads []*multipart.FileHeader) (ups []live.Upload, closeAll func(), err error) {
	var open []multipart.File
	closeAll = func() {
		for _, f := range open {
			f.Close()
		}
	}
	for _, h := range heads {
		f, err := h.Open()
		if err != nil {
			return nil, closeAll, formError(err)
		}
		open = append(open, f)
		ups = append(ups, live.Upload{Name: h.Filename, Bytes: f, Size: h.Size})
	}
	return ups, closeAll, nil
}

// sayPicture says what a picture shows.
func (s *Server) sayPicture(r *http.Request) (string, error) {
	p, pic, err := s.pictureOf(r)
	if err != nil {
		return "", err
	}
	says := strings.TrimSpace(r.PostFormValue("says"))
	if says == pic.Says {
		return picturePath(p, pic), nil
	}
	pic.Says = says
	what := "picture " + strconv.Itoa(pic.Number) + ": " + orElse(says, "no words")
	_, err = s.bench.Apply(r.Context(), beatwright.Change{Who: s.who(r), What: what, Job: p.Job.ID, Put: []beatwright.Thing{pic}})
	return picturePath(p, pic), err
}

func (s *Server) dropPicture(r *http.Request) (string, error) {
	p, pic, err := s.pictureOf(r)
	if err != nil {
		return "", err
	}
	return "/jobs/" + p.Job.Number + "#pictures", s.bench.DropPicture(r.Context(), p, pic, s.who(r))
}
