package web_test

import (
	"testing"

	"go.uber.org/goleak"
)

// TestMain also fails if anything goes on after all tests have closed what they
// opened.
func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }
