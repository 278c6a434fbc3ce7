package evidence

import "lowtide/report"

func init() {
	register("report.Reading", func(in In) (float64, error) {
		return report.Reading(in.Text("lang"), report.LeafletText(in.Text("lang"))).Value, nil
	})
}
