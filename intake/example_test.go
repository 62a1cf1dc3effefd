package intake_test

import (
	"fmt"

	"beatwright/intake"
)

func ExampleParseKind() {
	f, unknown := intake.ParseKind("Automatic alarm with date, carillon")
	fmt.Println(f)
	fmt.Println("not known:", unknown)
	// Output:
	// automatic watch with alarm and date
	// not known: [carillon]
}

func ExampleNext() {
	c := intake.Default()
	f, _ := intake.ParseKind("hand-wound chronograph, no screw-down crown")
	order := c.Functions(f, intake.Reported{})
	done := intake.Answers{"f.chrono_start": {Outcome: intake.Fails, Taps: []intake.Tap{{Answer: "runs_on"}}}}
	for _, b := range intake.Next(order, done).Barred {
		if b.Function.ID == "f.chrono_reset" {
			fmt.Println(b.Why)
		}
	}
	// Output:
	// needs first: Chronograph starts, and stops (fails)
}

func ExampleCatalogue_Compare() {
	c := intake.Default()
	found := intake.Answers{"cb.oil": {Taps: []intake.Tap{{Answer: "dry"}}}, "cb.gasket": {None: true}}
	for _, v := range c.Compare([]string{"cl.serviced"}, intake.Features{}, found, nil) {
		fmt.Printf("%s: %s by %s\n", v.Claim.Words, v.Standing.Words(), v.Against[0])
	}
	// Output:
	// serviced recently: contradicted by oil dry or brown in the sinks
}
