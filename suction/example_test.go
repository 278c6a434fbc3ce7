package suction_test

import (
	"fmt"

	"lowtide/suction"
)

// A shallow stage behind a tight seal: without a vent the wound cannot lose its suction in three minutes.
func ExampleSimulate() {
	in, problems := suction.Parse([]byte(`{"stages":[{"suction_mmHg":110,"hold_min":4},{"suction_mmHg":60,"hold_min":3}],"fluid_mL":100}`))
	if len(problems) > 0 {
		fmt.Println(problems)
		return
	}
	r := suction.Simulate(in.Setup, suction.Options{})
	for _, s := range r.Stages {
		fmt.Println(s.Sentence)
	}
	fmt.Printf("ordered %.1f, at the wound %.1f mmHg\n", r.MeanOrderedMmHg, r.MeanWoundMmHg)
	// Output:
	// Stage 1 (110 mmHg) is reached within 2.2 s; its mean at the wound is 110 mmHg.
	// Stage 2 (60 mmHg) is never reached at the wound; its mean there is 88 mmHg.
	// ordered 88.8, at the wound 100.4 mmHg
}

// The pump is paused at 125 mmHg and reads 118 after half a minute.
func ExampleSealFromHold() {
	s, _ := suction.Class("portable")
	e := suction.SealFromHold(s, suction.HoldTest{FirstMmHg: 125, SecondMmHg: 118, Seconds: 30})
	fmt.Println(e.Sentence)
	// Output:
	// The leak is about 9.1 mL/min at 125 mmHg (hold test), between 4.8 and 15 for the stated uncertainties.
}
