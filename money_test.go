package beatwright

import (
	"encoding/json"
	"testing"

	"pgregory.net/rapid"
)

func TestParseMoney(t *testing.T) {
	for in, want := range map[string]string{
		"462": "462.00", "462.5": "462.50", "1 462,50": "1462.50", "0.05": "0.05", "-3": "-3.00", "−3,20": "-3.20", ".5": "0.50",
	} {
		m, err := ParseMoney(in, "eur")
		if err != nil || m.Amount() != want {
			t.Errorf("%q is %q, %v; want %q", in, m.Amount(), err, want)
		}
	}
	// ISO 4217 (from memory): no decimals in JPY, three in KWD.
	for currency, want := range map[string]string{"JPY": "462", "KWD": "462.000"} {
		if m, err := ParseMoney("462", currency); err != nil || m.Amount() != want {
			t.Errorf("462 %s is %q, %v; want %q", currency, m.Amount(), err, want)
		}
	}
	for _, in := range []string{"", "-", "1.234", "1,2,3", "1e3", "∞", "12345678901234567890", "4.5 EUR"} {
		if m, err := ParseMoney(in, "EUR"); err == nil {
			t.Errorf("%q is taken for %v", in, m)
		}
	}
	if _, err := ParseMoney("1", "euro"); err == nil {
		t.Error("euro is taken for a currency code")
	}
}

// What is written is read as the same amount, to the last unit.
func TestMoneyRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := Money{rapid.Int64Range(-1e14, 1e14).Draw(t, "minor"), rapid.SampledFrom([]string{"EUR", "JPY", "KWD", "CHF"}).Draw(t, "currency")}
		b, err := json.Marshal(m)
		if err != nil {
			t.Fatal(err)
		}
		var back Money
		if err := json.Unmarshal(b, &back); err != nil || back != m {
			t.Fatalf("%v was written as %s and read as %v, %v", m, b, back, err)
		}
	})
}

func TestDates(t *testing.T) {
	d, err := ParseDate("2026-11-17")
	if err != nil || d.String() != "2026-11-17" {
		t.Errorf("%v, %v", d, err)
	}
	if n := d.Days(Date{2027, 1, 1}); n != 45 {
		t.Errorf("%d days to the new year, want 45", n)
	}
	for _, bad := range []string{"2026-02-30", "17.11.2026", "", "2026-1-1"} {
		if d, err := ParseDate(bad); err == nil {
			t.Errorf("%q is taken for %v", bad, d)
		}
	}
}
