package beatwright

import (
	"encoding/json"
	"fmt"
	"time"
)

// Date is a day of the calendar, without a time or a zone: a deadline.
type Date struct {
	Year  int
	Month time.Month
	Day   int
}

// On gives the day on which t falls, in t's own zone.
func On(t time.Time) Date {
	y, m, d := t.Date()
	return Date{y, m, d}
}

// ParseDate reads a day as 2026-11-17.
func ParseDate(s string) (Date, error) {
	t, err := time.Parse(time.DateOnly, s)
	if err != nil {
		return Date{}, wrong("date", "%q is no day; write it as 2026-11-17", s)
	}
	return On(t), nil
}

// String gives the day as 2026-11-17.
func (d Date) String() string { return fmt.Sprintf("%04d-%02d-%02d", d.Year, d.Month, d.Day) }

// In gives the start of the day in a zone.
func (d Date) In(zone *time.Location) time.Time {
	return time.Date(d.Year, d.Month, d.Day, 0, 0, 0, 0, zone)
}

// Before tells whether d is an earlier day than e.
func (d Date) Before(e Date) bool { return d.In(time.UTC).Before(e.In(time.UTC)) }

// Days gives how many days lie from d to e.
func (d Date) Days(e Date) int { return int(e.In(time.UTC).Sub(d.In(time.UTC)) / (24 * time.Hour)) }

// MarshalJSON writes the day as a string.
func (d Date) MarshalJSON() ([]byte, error) { return json.Marshal(d.String()) }

// UnmarshalJSON reads what MarshalJSON writes.
func (d *Date) UnmarshalJSON(b []byte) error {
	var s string
	if err := json.Unmarshal(b, &s); err != nil {
		return fmt.Errorf("read a day: %w", err)
	}
	v, err := ParseDate(s)
	if err == nil {
		*d = v
	}
	return err
}
