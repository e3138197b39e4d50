package volt_test

import "testing"

// Seven diodes about three nodes that nothing else holds: none of them takes anything out of the end of R1, and with the rail
// at 21 V none brings anything there.
func TestSevenDiodesWithoutACurrent(t *testing.T) {
	d := load(t, `* shuntwright: rails.IN = "-21 V .. 21 V"
* shuntwright: elements.DA.drop = "0.7 V exact"
* shuntwright: elements.DB.drop = "0.3 V .. 0.5 V"
* shuntwright: elements.DC.drop = "0.4 V .. 0.7 V"
* shuntwright: elements.DD.drop = "0.7 V exact"
* shuntwright: elements.DE.drop = "0.7 V exact"
* shuntwright: elements.DF.drop = "0.3 V exact"
* shuntwright: elements.DG.drop = "0.1 V .. 0.2 V"
.model d D
R1 IN out 1.44
VM IN in2 0
DA p IN d
DB q out d
DC p q d
DD q in2 d
DE r 0 d
DF r IN d
DG p r d`, "")
	q := voltage(t, d, "out")
	meets(t, "V(out)", q.Sound, -21, 21, 1e-7)
	meets(t, "V(out), seen,", q.Seen, -21, 21, 1e-7)
}
