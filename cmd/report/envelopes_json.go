package report

import (
	"io"

	"github.com/shuntwright/shuntwright/parse/envelope"
)

// envelopesSchema names the form of the list of envelopes, as jsonSchema does that of results.
const envelopesSchema = "shuntwright.envelopes/1"

type (
	jsonEnvelopes struct {
		Schema    string         `json:"schema"`
		Envelopes []jsonEnvelope `json:"envelopes"`
		Pulses    []jsonPulse    `json:"pulses"`
	}
	jsonEnvelope struct {
		Name      string      `json:"name"`
		Unit      string      `json:"unit"`
		Operating jsonEnds    `json:"operating"`
		Nominal   number      `json:"nominal"`
		Source    string      `json:"source"`
		Clause    string      `json:"clause"`
		Status    string      `json:"status"`
		Events    []jsonEvent `json:"events"`
	}
	jsonEnds struct {
		Min number `json:"min"`
		Max number `json:"max"`
	}
	jsonEvent struct {
		Name       string  `json:"name"`
		Min        number  `json:"min"`
		Max        number  `json:"max"`
		Lasts      string  `json:"lasts,omitempty"`
		Resistance *number `json:"resistance,omitempty"`
		Clause     string  `json:"clause"`
		Status     string  `json:"status"`
	}
	jsonPulse struct {
		Name       string   `json:"name"`
		Unit       string   `json:"unit"`
		Level      number   `json:"level"`
		Resistance jsonEnds `json:"resistance"`
		Lasts      string   `json:"lasts"`
		Source     string   `json:"source"`
		Clause     string   `json:"clause"`
		Status     string   `json:"status"`
	}
)

// EnvelopesJSON prints supply envelopes and pulses for programs; voltages in volts, resistances in ohm.
func EnvelopesJSON(w io.Writer, list []*envelope.Envelope, pulses []*envelope.Pulse) error {
	out := jsonEnvelopes{Schema: envelopesSchema, Envelopes: []jsonEnvelope{}, Pulses: []jsonPulse{}}
	for _, e := range list {
		j := jsonEnvelope{Name: e.Name, Unit: "V", Operating: jsonEnds{number(e.Low), number(e.High)}, Nominal: number(e.Middle()),
			Source: e.Source, Clause: e.Clause, Status: e.Status.String(), Events: []jsonEvent{}}
		for _, ev := range e.Events {
			x := jsonEvent{Name: ev.Name, Min: number(ev.Low), Max: number(ev.High), Lasts: ev.Lasts, Clause: ev.Clause, Status: ev.Status.String()}
			if ev.Resistance > 0 {
				r := number(ev.Resistance)
				x.Resistance = &r
			}
			j.Events = append(j.Events, x)
		}
		out.Envelopes = append(out.Envelopes, j)
	}
	for _, p := range pulses {
		out.Pulses = append(out.Pulses, jsonPulse{Name: p.Name, Unit: "V", Level: number(p.Level), Resistance: jsonEnds{number(p.Resistance[0]), number(p.Resistance[1])},
			Lasts: p.Lasts, Source: p.Source, Clause: p.Clause, Status: p.Status.String()})
	}
	return encode(w, out)
}
