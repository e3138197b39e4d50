package builtin_test

// Invented parts; the numbers are like no catalogue's.

// tugSense has a differential input and two reference pins that meet inside.
const tugSense = `
[[part]]
name = "tug-sense-40"
role = "sense-amplifier"
pins = ["in+", "in-", "out", "ground", "ref-a", "ref-b", "supply"]
gain = "40 V/V +- 0.3 %"
direction = "bidirectional"
supply = { operating = "2.9 V .. 5.5 V", survival = "-0.3 V .. 6.4 V", current = "1.7 mA" }
common-mode = { operating = "-5 V .. 62 V", survival = "-15 V .. 80 V" }
input = { model = "differential", resistance = "5.1 kohm +- 21 %", temperature-coefficient = "80 ppm/K" }
bias = { max = "27 uA", mismatch = "0.9 uA" }
output = { low = "45 mV", high = "supply - 70 mV" }
offset = { max = "61 uV" }
reference = { model = "resistor-pair", resistance = "760 kohm", split = "0.06 %" }
`

// tugDiff is a resistor-difference stage with exact inner resistors, R1 = 10 kohm and R2 = 500 kohm.
const tugDiff = `
[[part]]
name = "tug-diff-50"
role = "sense-amplifier"
pins = ["in+", "in-", "out", "ground", "ref", "supply"]
gain = "50 V/V exact"
direction = "bidirectional"
supply = { operating = "2.9 V .. 5.5 V", survival = "-0.3 V .. 6.4 V", current = "1.7 mA" }
common-mode = { operating = "-5 V .. 62 V", survival = "-15 V .. 80 V" }
input = { model = "resistor-difference", resistance = "10 kohm exact" }
output = { low = "40 mV", high = "supply - 60 mV" }
offset = { max = "0 V" }
reference = { model = "high-impedance" }
`
