package beatwright

import (
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Money is an amount of a currency, exact: minor units (cents) are counted in
// whole numbers. The zero Money is nothing, of no currency.
type Money struct {
	Minor    int64
	Currency string
}

// places is how many decimals a currency's amounts have, where it is not two
// (ISO 4217, from memory).
var places = map[string]int{"JPY": 0, "KRW": 0, "CLP": 0, "ISK": 0, "KWD": 3, "BHD": 3, "TND": 3}

func placesOf(currency string) int {
	if n, ok := places[currency]; ok {
		return n
	}
	return 2
}

// ParseMoney reads an amount ("462", "462.5", "1 462,50") of a currency.
// More decimals than the currency has are refused, not rounded.
func ParseMoney(amount, currency string) (Money, error) {
	currency = strings.ToUpper(strings.TrimSpace(currency))
	if len(currency) != 3 || strings.Trim(currency, "ABCDEFGHIJKLMNOPQRSTUVWXYZ") != "" {
		return Money{}, wrong("currency", "%q is no currency; write three letters, as EUR", currency)
	}
	bad := wrong("amount", "%q is no amount of money; write it as 462.50", amount)
	s := strings.NewReplacer(" ", "", "\u00a0", "", "\u2009", "", "\u202f", "", "'", "", "−", "-").Replace(strings.TrimSpace(amount))
	if strings.Count(s, ",") == 1 && !strings.Contains(s, ".") {
		s = strings.Replace(s, ",", ".", 1)
	}
	s, minus := strings.CutPrefix(s, "-")
	whole, part, _ := strings.Cut(s, ".")
	n := placesOf(currency)
	if len(part) > n || whole+part == "" || strings.Trim(whole+part, "0123456789") != "" {
		return Money{}, bad
	}
	minor, err := strconv.ParseInt(whole+part+strings.Repeat("0", n-len(part)), 10, 64)
	if err != nil || minor > math.MaxInt64/1000 {
		return Money{}, bad
	}
	if minus {
		minor = -minor
	}
	return Money{minor, currency}, nil
}

// Amount gives the amount with its decimals: "462.50".
func (m Money) Amount() string {
	n := placesOf(m.Currency)
	s := strconv.FormatInt(m.Minor, 10)
	s, minus := strings.CutPrefix(s, "-")
	if n > 0 {
		s = strings.Repeat("0", max(0, n+1-len(s))) + s
		s = s[:len(s)-n] + "." + s[len(s)-n:]
	}
	if minus {
		s = "-" + s
	}
	return s
}

// String gives amount and currency.
func (m Money) String() string {
	if m == (Money{}) {
		return ""
	}
	return m.Amount() + "\u00a0" + m.Currency
}

type moneyJSON struct {
	Amount   string `json:"amount"`
	Currency string `json:"currency"`
}

// MarshalJSON writes {"amount":"462.50","currency":"EUR"}.
func (m Money) MarshalJSON() ([]byte, error) {
	return json.Marshal(moneyJSON{m.Amount(), m.Currency})
}

// UnmarshalJSON reads what MarshalJSON writes.
func (m *Money) UnmarshalJSON(b []byte) error {
	var j moneyJSON
	if err := json.Unmarshal(b, &j); err != nil {
		return fmt.Errorf("read an amount of money: %w", err)
	}
	v, err := ParseMoney(j.Amount, j.Currency)
	if err == nil {
		*m = v
	}
	return err
}
