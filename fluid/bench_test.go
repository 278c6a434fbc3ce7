package fluid

import "testing"

// fortnight is a course of 28 readings over 14 days with a change every fourth day.
func fortnight() Course {
	c := course()
	ml := 0.0
	for k := range 28 {
		h := float64(k) * 12
		if k%8 == 0 {
			ml = 0
			c.Readings = append(c.Readings, fresh(h))
			continue
		}
		ml += 25 + float64(k*7%3)*10
		c.Readings = append(c.Readings, read(h, ml))
	}
	return c
}

// Budget: under 1 ms. An update is a fit of the course with the new reading in it; 45 readings are the most used.
func BenchmarkUpdate(b *testing.B) {
	c := course()
	for k := range 60 {
		c.Readings = append(c.Readings, read(float64(k)*8, float64(k)*20))
	}
	c.Canister = 5000
	for b.Loop() {
		Fit(c, at(60*8))
	}
}

// Budget: 10,000 whole forecasts, from readings to all answers, under 2 s on 2 cores, that is 400 µs each on one.
func BenchmarkForecast(b *testing.B) {
	c := fortnight()
	for b.Loop() {
		Predict(c, at(28*12), at(28*12+24))
	}
}

// What changes when only the clock moves: the forecast of a track already fitted.
func BenchmarkForecastOfTrack(b *testing.B) {
	tr := Fit(fortnight(), at(28*12))
	for b.Loop() {
		tr.Forecast(at(28*12 + 24))
	}
}

// Two workers over 10,000 courses, as a server would do it; reported as the time of one whole batch.
func Benchmark10000(b *testing.B) {
	c := fortnight()
	for b.Loop() {
		done := make(chan bool)
		for range 2 {
			go func() {
				for range 5000 {
					Predict(c, at(28*12), at(28*12+24))
				}
				done <- true
			}()
		}
		<-done
		<-done
	}
}

func BenchmarkChanges(b *testing.B) {
	c := fortnight()
	for b.Loop() {
		Changes(c, at(28*12))
	}
}
