package house

import (
	"fmt"
	"os"
	"syscall"
)

// confine bounds the address space, since a value may be made at one go before anybody looks. The runtime itself reserves
// more than it uses, which is not counted.
func confine() {
	var pages uint64
	text, err := os.ReadFile("/proc/self/statm")
	if err != nil {
		return // the one who watches is left
	}
	if _, err := fmt.Sscan(string(text), &pages); err != nil {
		return
	}
	most := pages*uint64(os.Getpagesize()) + mostMemory
	_ = syscall.Setrlimit(syscall.RLIMIT_AS, &syscall.Rlimit{Cur: most, Max: most})
	_ = syscall.Setrlimit(syscall.RLIMIT_CORE, &syscall.Rlimit{})
}
