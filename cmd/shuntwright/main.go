// Command shuntwright lints netlists that carry current-sense amplifiers.
package main

import (
	"os"

	"github.com/shuntwright/shuntwright/cmd/cli"
	"github.com/shuntwright/shuntwright/rules/builtin"
)

func main() { os.Exit(cli.Main(os.Args[1:], cli.Standard(), builtin.All...)) }
