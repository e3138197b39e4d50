package cli

import "testing"

func TestCount(t *testing.T) {
	for _, c := range []struct {
		in    string
		bytes bool
		want  int // 0: refused
	}{
		{"1", false, 1}, {"20000000", false, 20_000_000}, {"50M", false, 50_000_000}, {"3K", false, 3000}, {"2G", false, 2_000_000_000},
		{"64MiB", true, 64 << 20}, {"1KiB", true, 1024}, {"3GiB", true, 3 << 30}, {"5K", true, 5000},
		{"0", false, 0}, {"0K", false, 0}, {"-1", false, 0}, {"+1", false, 0}, {"", false, 0}, {"K", false, 0}, {"1.5M", false, 0},
		{"1e3", false, 0}, {"5m", false, 0}, {"5KiB", false, 0}, {"5KB", true, 0}, {" 5", false, 0}, {"0x10", false, 0}, {"1_000", false, 0},
		{"9223372036854775807", false, 1<<63 - 1}, {"99999999999999999999", false, 1<<63 - 1}, {"9223372036854775807K", false, 1<<63 - 1},
	} {
		if got, err := count(c.in, c.bytes); got != c.want || (err == nil) != (c.want > 0) {
			t.Errorf("%q: got %d, %v, want %d", c.in, got, err, c.want)
		}
	}
}
