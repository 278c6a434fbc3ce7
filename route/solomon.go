package route

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
)

// solomonMost is the largest instance that ReadSolomon takes: beyond it the table of travel times outgrows a laptop.
const solomonMost = 2000

// ReadSolomon reads an instance in the text form of Solomon (1987, Operations Research 35(2)): a name, VEHICLE with
// number and capacity, CUSTOMER with seven columns, the depot first. Travel time and distance are Euclidean, in double
// precision.
func ReadSolomon(in io.Reader) (*Problem, error) {
	p := &Problem{Alike: true}
	sc := bufio.NewScanner(io.LimitReader(in, 1<<22))
	var rows [][7]float64
	var number, capacity float64
	for line := 1; sc.Scan(); line++ {
		words := strings.Fields(sc.Text())
		var v []float64
		for _, w := range words {
			x, err := strconv.ParseFloat(w, 64)
			if err != nil || math.IsInf(x, 0) || math.IsNaN(x) || math.Abs(x) > 1e9 {
				break
			}
			v = append(v, x)
		}
		switch {
		case len(v) < len(words) || len(words) == 0:
			if len(v) > 0 {
				return nil, fmt.Errorf("line %d: %q is not a number", line, words[len(v)])
			}
		case number == 0:
			if len(v) != 2 || v[0] < 1 || v[0] != math.Trunc(v[0]) || v[1] < 0 || v[0] > solomonMost {
				return nil, fmt.Errorf("line %d: number of vehicles and capacity expected, got %q", line, sc.Text())
			}
			number, capacity = v[0], v[1]
		case len(v) != 7:
			return nil, fmt.Errorf("line %d: 7 columns expected, got %d", line, len(v))
		case v[0] != float64(len(rows)):
			return nil, fmt.Errorf("line %d: customer %d expected, got %v", line, len(rows), v[0])
		case v[3] < 0 || v[6] < 0:
			return nil, fmt.Errorf("line %d: demand and service time cannot be negative", line)
		case len(rows) > solomonMost:
			return nil, fmt.Errorf("line %d: more than %d customers", line, solomonMost)
		default:
			rows = append(rows, [7]float64(v))
		}
	}
	if err := sc.Err(); err != nil {
		return nil, err
	}
	if number == 0 || len(rows) < 2 {
		return nil, fmt.Errorf("no vehicles or no customers found")
	}
	n := len(rows)
	p.Places = n
	t := make([]float64, n*n)
	far := 0.0
	for i, a := range rows {
		for j, b := range rows {
			t[i*n+j] = math.Hypot(a[1]-b[1], a[2]-b[2])
			far = max(far, t[i*n+j])
		}
	}
	p.Times = [][]float64{t}
	for i, r := range rows[1:] {
		p.Stops = append(p.Stops, Stop{Place: i + 1, Windows: []Window{{r[4], r[5]}}, Service: r[6], Demand: r[3], Miss: 10 * far})
	}
	if rows[0][5] < rows[0][4] {
		return nil, fmt.Errorf("the depot closes at %v before it opens at %v", rows[0][5], rows[0][4])
	}
	for range int(number) {
		p.Shifts = append(p.Shifts, Shift{Open: rows[0][4], Close: rows[0][5], Capacity: capacity})
	}
	return p, nil
}
