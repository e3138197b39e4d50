// Command winchlint is shuntwright with a rule of our own compiled in. It has the full command line, house rules included.
package main

import (
	"os"

	"github.com/shuntwright/shuntwright/cmd/cli"
	"github.com/shuntwright/shuntwright/rules/builtin"
)

func main() { os.Exit(cli.Main(os.Args[1:], cli.Standard(), append(builtin.All, WinchDrop)...)) }
