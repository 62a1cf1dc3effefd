package beatwright

import "strings"

// Owner is whose watch it is; the workshop itself can be one.
type Owner struct {
	Entry
	Name    string `json:"name"`
	Phone   string `json:"phone,omitempty"`
	Mail    string `json:"mail,omitempty"`
	Address string `json:"address,omitempty"`
	Note    string `json:"note,omitempty"`
	// House says that the workshop is the owner.
	House bool `json:"house,omitempty"`
}

// Kind says what it is.
func (*Owner) Kind() Kind { return KindOwner }

// Links gives nothing: an owner stands alone.
func (*Owner) Links() Links { return Links{} }

// Check wants a name.
func (o *Owner) Check() error {
	if strings.TrimSpace(o.Name) == "" {
		return wrong("owner.name", "an owner needs a name")
	}
	return tooLong("owner", o.Name, o.Phone, o.Mail, o.Address, o.Note)
}

// maxText is the longest text kept in one field, chosen: a page of notes.
const maxText = 20_000

func tooLong(field string, texts ...string) error {
	for _, t := range texts {
		if len(t) > maxText {
			return wrong(field, "a text of %d letters is too long; %d is the most, split it", len(t), maxText)
		}
	}
	return nil
}

// Workshop is what the workshop says of itself and how it likes its pages.
type Workshop struct {
	Entry
	Name     string `json:"name,omitempty"`
	Place    string `json:"place,omitempty"`
	Currency string `json:"currency,omitempty"`
	// Theme is light, dark, or empty: as the computer.
	Theme string `json:"theme,omitempty"`
	// DayFrom and DayTo are the hours of the working day.
	DayFrom int `json:"day_from,omitempty"`
	DayTo   int `json:"day_to,omitempty"`
	// Who is the name that new changes are signed with.
	Who string `json:"who,omitempty"`
	// Clock is what is known of the device's clock that sound comes from.
	Clock Clock `json:"clock"`
	// Invented says that all in this folder was made up, for trying out.
	Invented bool `json:"invented,omitempty"`
}

// WorkshopID is the one workshop a folder has.
const WorkshopID ID = "workshop"

// NewWorkshop is a workshop that has said nothing yet.
func NewWorkshop() *Workshop {
	return &Workshop{Entry: Entry{ID: WorkshopID}, Currency: "EUR", DayFrom: 8, DayTo: 18}
}

// Kind says what it is.
func (*Workshop) Kind() Kind { return KindWorkshop }

// Links gives nothing.
func (*Workshop) Links() Links { return Links{} }

// Check holds the few settings to what they can be.
func (w *Workshop) Check() error {
	if _, err := ParseMoney("0", w.Currency); err != nil {
		return err
	}
	switch {
	case w.ID != WorkshopID:
		return wrong("id", "a folder has one workshop")
	case w.Theme != "" && w.Theme != "light" && w.Theme != "dark":
		return wrong("theme", "%q is no theme; light and dark are, or nothing for that of the computer", w.Theme)
	case w.DayFrom < 0 || w.DayTo > 24 || w.DayFrom >= w.DayTo:
		return wrong("day_from", "the working day cannot go from %d to %d; give a beginning before the end, 0 to 24", w.DayFrom, w.DayTo)
	}
	return tooLong("workshop", w.Name, w.Place, w.Who)
}
