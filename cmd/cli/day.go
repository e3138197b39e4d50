package cli

import (
	"errors"
	"time"
)

// A dayFlag is the value of a flag that names a day, in UTC.
type dayFlag time.Time

func (*dayFlag) Type() string   { return "DATE" }
func (*dayFlag) String() string { return "" }

// Set reads a day.
func (d *dayFlag) Set(s string) error {
	t, err := time.Parse(time.DateOnly, s)
	if err != nil {
		return errors.New("write year, month and day, as in 2027-06-30")
	}
	*d = dayFlag(t)
	return nil
}
