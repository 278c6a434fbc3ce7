// Command dump runs many command lines of the program in one process: tests/differ starts it once for each of two
// programs. It reads one JSON object a line, {"args": [...]}, and writes {"code", "out", "err"} for each, in order.
package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"strings"

	"lowtide/cli"
)

func main() {
	in := bufio.NewScanner(os.Stdin)
	in.Buffer(nil, 1<<20)
	w := bufio.NewWriter(os.Stdout)
	out := json.NewEncoder(w)
	for in.Scan() {
		var job struct {
			Args []string `json:"args"`
		}
		if err := json.Unmarshal(in.Bytes(), &job); err != nil {
			fmt.Fprintln(os.Stderr, "dump:", err)
			os.Exit(1)
		}
		var o, e bytes.Buffer
		code := run(job.Args, &o, &e)
		if err := out.Encode(map[string]any{"code": code, "out": o.String(), "err": e.String()}); err != nil {
			os.Exit(1)
		}
		w.Flush()
	}
}

// run is one command line; a panic is an answer like any other, so that the comparison shows it.
func run(args []string, out, errs *bytes.Buffer) (code int) {
	defer func() {
		if p := recover(); p != nil {
			code = -1
			fmt.Fprintln(errs, "panic:", p)
		}
	}()
	return cli.Main(args, strings.NewReader(""), out, errs)
}
