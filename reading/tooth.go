package reading

// Tooth is how late the beats of one tooth of the escape wheel come, ms, early
// below 0, against the middle tooth of their side. Teeth are numbered from the first beat
// of the stretch measured: which tooth that is cannot be known from sound.
type Tooth struct {
	Tooth  int      `json:"tooth"`
	First  ToothLag `json:"first"`
	Second ToothLag `json:"second"`
}

// ToothLag is a lag in ms with its 95 % half-width, and the chance that noise
// alone would show one as large at any tooth and side.
type ToothLag struct {
	Ms     float64 `json:"ms"`
	U95    float64 `json:"u95"`
	Chance float64 `json:"chance"`
}

// How the second beats are set against teeth: ByTooth where both sides show
// which second beat is of which first beat's tooth, ByPair where they do not and
// a second beat stands with the first beat before it.
const (
	ByTooth = "tooth"
	ByPair  = "pair"
)
