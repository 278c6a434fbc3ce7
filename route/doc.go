// Package route computes who drives where and when: stops with time windows are put into the shifts of people, each
// shift a tour from a start to an end.
//
// A stop may stand only where its window, the shift's hours and load, the cost table (infinite: may not) and the gaps to
// its sister stops allow it. Among the plans that leave the least undone, the search looks for the cheapest one:
//
//	cost = Σ travel + Σ cost(stop, shift) + Σ wake(shift) + fair · Σ work(p)²/hours(p) + Σ miss(stop left out)   (eq. 1)
//
// The search is adaptive large neighbourhood search (Ropke and Pisinger 2006, Transportation Science 40(4)) with the
// removal of adjacent strings and the insertion with blinks of Christiaens and Vanden Berghe (2020, Transportation
// Science 54(2)), under simulated annealing. Whether a stop may stand between two others is decided in constant time by
// joining what is known of the tour before and after (Vidal et al. 2013, Computers & Operations Research 40(1)). Where
// shifts are alike, their number is made as small as possible first, by ejection with counted failures (Nagata and
// Bräysy 2009, Operations Research Letters 37(5)). All methods are written from memory of these papers; equations are in
// docs/model/route.md.
//
// The package reads no clock: a caller says how far its budget is spent. The same problem, seed and number of rounds
// give the same plan.
package route
