package intake

import "lowtide/casebook"

// checkGoal asks that a goal given as a size has the size of its kind, and no other.
func checkGoal(b casebook.OrderWritten, at finding) {
	switch {
	case b.GoalKind == "depth under" && b.GoalDepthCm == nil:
		at("/goal_depth_cm", CodeMissing, "", "The goal is a depth to get under, and the depth is missing.", "Write the depth in centimetres.")
	case b.GoalKind == "area under" && b.GoalAreaCm2 == nil:
		at("/goal_area_cm2", CodeMissing, "", "The goal is an area to get under, and the area is missing.", "Write the area in square centimetres.")
	}
	if b.GoalGranulationPct != nil && b.GoalKind != "level and granulated" {
		at("/goal_granulation_pct", CodeContradicts, printNumber(*b.GoalGranulationPct), "A share of granulation is given, and the goal does not ask for one.", "Choose \"level and granulated\", or remove the share.")
	}
	if b.GoalDepthCm != nil && b.GoalKind != "depth under" && b.GoalKind != "bed level" && b.GoalKind != "level and granulated" {
		at("/goal_depth_cm", CodeContradicts, printNumber(*b.GoalDepthCm), "A depth is given, and the goal as a size is not a depth.", "Choose the kind of goal that the depth belongs to, or remove the depth.")
	}
	if b.GoalAreaCm2 != nil && b.GoalKind != "area under" {
		at("/goal_area_cm2", CodeContradicts, printNumber(*b.GoalAreaCm2), "An area is given, and the goal as a size is not an area.", "Choose \"area under\", or remove the area.")
	}
}
