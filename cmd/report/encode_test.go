package report

import (
	"bytes"
	"encoding/json"
	"testing"
)

// What a build's log might take for a command is an escape, and says the same.
func TestEncodeMakesNoCommand(t *testing.T) {
	const said = "##[error]a winch ## [b] #"
	var out bytes.Buffer
	if err := encode(&out, said); err != nil {
		t.Fatal(err)
	}
	var back string
	if err := json.Unmarshal(out.Bytes(), &back); err != nil || back != said || bytes.Contains(out.Bytes(), []byte("##[")) {
		t.Errorf("%s is %q (%v)", out.String(), back, err)
	}
}
