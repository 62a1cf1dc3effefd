package intake_test

import (
	"testing"

	"beatwright/intake"
)

func TestDefault(t *testing.T) {
	if _, err := intake.New(); err != nil {
		t.Fatal(err)
	}
}
