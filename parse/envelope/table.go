package envelope

// The editions that the rows are taken from.
const (
	iso16750 = "ISO 16750-2:2023"
	iso7637  = "ISO 7637-2:2011"
	iso21780 = "ISO 21780:2020"
	iec61131 = "IEC 61131-2"
	en300132 = "ETSI EN 300 132-2"
	mil1275  = "MIL-STD-1275E (22 March 2013)"
	mil704   = "MIL-STD-704F (12 March 2004)"
	usbPD    = "USB Power Delivery"
	poe      = "IEEE 802.3"
)

// road12 and road24 are the events of ISO 16750-2:2023 for 12 V and 24 V systems.
var (
	road12 = []Event{
		{Name: "long-term overvoltage", Low: 18, High: 18, Lasts: "60 min", Clause: "4.3.1.1", Status: Secondary},
		{Name: "jump start", Low: 26, High: 26, Lasts: "60 s", Clause: "4.3.1.2", Status: Secondary},
		{Name: "transient overvoltage", Low: 18, High: 18, Lasts: "400 ms", Clause: "4.3.2", Status: Secondary},
		{Name: "momentary drop", Low: 4.5, High: 4.5, Lasts: "100 ms", Clause: "4.6.1.1", Status: Secondary},
		{Name: "starting I", Low: 8, High: 8, Clause: "4.6.3", Status: Secondary},
		{Name: "starting II", Low: 4.5, High: 4.5, Clause: "4.6.3", Status: Secondary},
		{Name: "starting III", Low: 3, High: 3, Clause: "4.6.3", Status: Secondary},
		{Name: "starting IV", Low: 6, High: 6, Clause: "4.6.3", Status: Secondary},
		{Name: "load dump A 79 V", Low: 79, High: 79, Lasts: "40 ms to 400 ms", Resistance: 0.5, Clause: "4.6.4, test A", Status: Secondary},
		{Name: "load dump A 101 V", Low: 101, High: 101, Lasts: "40 ms to 400 ms", Resistance: 4, Clause: "4.6.4, test A", Status: Secondary},
		{Name: "load dump B 27 V", Low: 27, High: 27, Clause: "4.6.4, test B, severity 1", Status: Secondary},
		{Name: "load dump B 30 V", Low: 30, High: 30, Clause: "4.6.4, test B, severity 2", Status: Secondary},
		{Name: "load dump B 32 V", Low: 32, High: 32, Clause: "4.6.4, test B, severity 3", Status: Secondary},
		{Name: "load dump B 35 V", Low: 35, High: 35, Clause: "4.6.4, test B, severity 4", Status: Secondary},
		{Name: "reversed 1", Low: -4, High: -4, Lasts: "60 s", Clause: "4.7, case 1", Status: Secondary},
		{Name: "reversed 2", Low: -14, High: -14, Lasts: "60 s", Clause: "4.7, case 2", Status: Secondary},
	}
	road24 = []Event{
		{Name: "long-term overvoltage", Low: 36, High: 36, Lasts: "60 min", Clause: "4.3.1.1", Status: Secondary},
		{Name: "transient overvoltage", Low: 36, High: 36, Lasts: "400 ms", Clause: "4.3.2", Status: Secondary},
		{Name: "momentary drop", Low: 9, High: 9, Lasts: "100 ms", Clause: "4.6.1.1", Status: Secondary},
		{Name: "starting I", Low: 10, High: 10, Clause: "4.6.3", Status: Secondary},
		{Name: "starting II", Low: 8, High: 8, Clause: "4.6.3", Status: Secondary},
		{Name: "starting III", Low: 6, High: 6, Clause: "4.6.3", Status: Secondary},
		{Name: "load dump A 151 V", Low: 151, High: 151, Lasts: "100 ms to 350 ms", Resistance: 1, Clause: "4.6.4, test A", Status: Secondary},
		{Name: "load dump A 202 V", Low: 202, High: 202, Lasts: "100 ms to 350 ms", Resistance: 8, Clause: "4.6.4, test A", Status: Secondary},
		{Name: "load dump B 58 V", Low: 58, High: 58, Clause: "4.6.4, test B, as agreed, typically this", Status: Secondary},
		{Name: "reversed", Low: -26, High: -26, Lasts: "60 s", Clause: "4.7", Status: Secondary},
	}
)

// All are the envelopes with names of their own. Battery packs of any number of cells come on top: Chemistries.
var All = []Envelope{
	{Name: "ISO 16750-2:2023 12 V A", Source: iso16750, Clause: "4.2, code A", Status: Secondary, Low: 6, Nominal: 14, High: 16, Events: road12},
	{Name: "ISO 16750-2:2023 12 V B", Source: iso16750, Clause: "4.2, code B", Status: Secondary, Low: 8, Nominal: 14, High: 16, Events: road12},
	{Name: "ISO 16750-2:2023 12 V C", Source: iso16750, Clause: "4.2, code C", Status: Secondary, Low: 9, Nominal: 14, High: 16, Events: road12},
	{Name: "ISO 16750-2:2023 12 V D", Source: iso16750, Clause: "4.2, code D", Status: Secondary, Low: 10.5, Nominal: 14, High: 16, Events: road12},
	{Name: "ISO 16750-2:2023 24 V E", Source: iso16750, Clause: "4.2, code E", Status: Secondary, Low: 10, Nominal: 28, High: 32, Events: road24},
	{Name: "ISO 16750-2:2023 24 V F", Source: iso16750, Clause: "4.2, code F", Status: Secondary, Low: 16, Nominal: 28, High: 32, Events: road24},
	{Name: "ISO 16750-2:2023 24 V G", Source: iso16750, Clause: "4.2, code G", Status: Secondary, Low: 22, Nominal: 28, High: 32, Events: road24},
	{Name: "ISO 16750-2:2023 24 V H", Source: iso16750, Clause: "4.2, code H", Status: Secondary, Low: 18, Nominal: 28, High: 32, Events: road24},

	{Name: "ISO 21780:2020 48 V", Source: iso21780, Clause: "5, unlimited operation", Status: Memory, Low: 36, Nominal: 48, High: 52, Events: []Event{
		{Name: "lower limited", Low: 24, High: 36, Clause: "5", Status: Memory},
		{Name: "upper limited", Low: 52, High: 54, Clause: "5", Status: Memory},
		{Name: "overvoltage", Low: 54, High: 60, Clause: "5", Status: Memory},
		{Name: "undervoltage", Low: 20, High: 24, Clause: "5", Status: Memory},
	}},

	{Name: "IEC 61131-2 24 V DC", Source: iec61131, Clause: "rated supply, -15 % and +20 %, with 5 % of ripple on top", Status: Derived,
		Low: 19.2, Nominal: 24, High: 30, Events: plant},
	{Name: "IEC 61131-2 24 V DC mean", Source: iec61131, Clause: "rated supply, -15 % and +20 %, without its ripple", Status: Secondary,
		Low: 20.4, Nominal: 24, High: 28.8, Events: plant},

	{Name: "EN 300 132-2 -48 V", Source: en300132, Clause: "interface A, normal service", Status: Memory, Low: -57, Nominal: -48, High: -40.5, Events: []Event{
		{Name: "abnormal", Low: -60, High: 0, Clause: "interface A, abnormal service", Status: Memory},
	}},

	{Name: "MIL-STD-1275E 28 V", Source: mil1275, Clause: "steady state", Status: Secondary, Low: 20, Nominal: 28, High: 33, Events: []Event{
		{Name: "surge", Low: 18, High: 100, Lasts: "50 ms at the top, 500 ms at the bottom", Resistance: 0.5, Clause: "surge envelope", Status: Secondary},
		{Name: "spike", Low: -250, High: 250, Lasts: "70 us", Clause: "spike", Status: Memory},
		{Name: "cranking", Low: 16, High: 16, Lasts: "30 s", Clause: "cranking", Status: Memory},
		{Name: "initial engagement", Low: 12, High: 12, Lasts: "1 s", Clause: "initial engagement", Status: Memory},
	}},

	{Name: "MIL-STD-704F 28 V", Source: mil704, Clause: "normal operation", Status: Memory, Low: 22, Nominal: 28, High: 29, Events: []Event{
		{Name: "abnormal", Low: 20, High: 31.5, Clause: "abnormal operation", Status: Memory},
		{Name: "emergency", Low: 18, High: 29, Clause: "emergency operation", Status: Memory},
		{Name: "starting", Low: 12, High: 29, Clause: "starting operation", Status: Memory},
		{Name: "normal transient", Low: 50, High: 50, Clause: "normal transient, its ceiling", Status: Memory},
	}},
	{Name: "MIL-STD-704F 28 V external power", Source: mil704, Clause: "4.3, at the receptacle", Status: Primary, Low: 24, Nominal: 28, High: 29},
	{Name: "MIL-STD-704F 270 V", Source: mil704, Clause: "normal operation", Status: Memory, Low: 250, Nominal: 270, High: 280, Events: []Event{
		{Name: "abnormal", Low: 240, High: 290, Clause: "abnormal and emergency operation", Status: Memory},
		{Name: "transient", Low: 200, High: 330, Clause: "normal transient", Status: Memory},
	}},
	{Name: "MIL-STD-704F 270 V external power", Source: mil704, Clause: "4.3, at the receptacle", Status: Primary, Low: 260, Nominal: 270, High: 280},

	{Name: "USB PD 5 V", Source: usbPD, Clause: "fixed supply, vSrcNew", Status: Secondary, Low: 4.75, Nominal: 5, High: 5.25,
		Events: []Event{{Name: "valid", Low: 4.25, High: 5.75, Clause: "vSrcValid", Status: Secondary}}},
	{Name: "USB PD 9 V", Source: usbPD, Clause: "fixed supply, vSrcNew", Status: Secondary, Low: 8.55, Nominal: 9, High: 9.45,
		Events: []Event{{Name: "valid", Low: 8.05, High: 9.95, Clause: "vSrcValid", Status: Secondary}}},
	{Name: "USB PD 15 V", Source: usbPD, Clause: "fixed supply, vSrcNew", Status: Secondary, Low: 14.25, Nominal: 15, High: 15.75,
		Events: []Event{{Name: "valid", Low: 13.75, High: 16.25, Clause: "vSrcValid", Status: Secondary}}},
	{Name: "USB PD 20 V", Source: usbPD, Clause: "fixed supply, vSrcNew", Status: Secondary, Low: 19, Nominal: 20, High: 21,
		Events: []Event{{Name: "valid", Low: 18.5, High: 21.5, Clause: "vSrcValid", Status: Secondary}}},
	{Name: "USB PD 28 V", Source: usbPD, Clause: "fixed supply of the extended range, vSrcNew", Status: Secondary, Low: 26.6, Nominal: 28, High: 29.4,
		Events: []Event{{Name: "valid", Low: 26.1, High: 29.9, Clause: "vSrcValid", Status: Secondary}}},
	{Name: "USB PD 36 V", Source: usbPD, Clause: "fixed supply of the extended range, vSrcNew", Status: Secondary, Low: 34.2, Nominal: 36, High: 37.8,
		Events: []Event{{Name: "valid", Low: 33.7, High: 38.3, Clause: "vSrcValid", Status: Secondary}}},
	{Name: "USB PD 48 V", Source: usbPD, Clause: "fixed supply of the extended range, vSrcNew", Status: Secondary, Low: 45.6, Nominal: 48, High: 50.4,
		Events: []Event{{Name: "valid", Low: 45.1, High: 50.9, Clause: "vSrcValid", Status: Secondary}}},

	{Name: "PoE type 1 PSE", Source: poe, Clause: "type 1, at the power sourcing equipment", Status: Secondary, Low: 44, High: 57},
	{Name: "PoE type 1 PD", Source: poe, Clause: "type 1, at the powered device", Status: Secondary, Low: 37, High: 57},
	{Name: "PoE type 2 PSE", Source: poe, Clause: "type 2, at the power sourcing equipment", Status: Secondary, Low: 50, High: 57},
	{Name: "PoE type 2 PD", Source: poe, Clause: "type 2, at the powered device", Status: Secondary, Low: 42.5, High: 57},
	{Name: "PoE type 3 PSE", Source: poe, Clause: "type 3, at the power sourcing equipment", Status: Secondary, Low: 50, High: 57},
	{Name: "PoE type 3 PD", Source: poe, Clause: "type 3, at the powered device", Status: Secondary, Low: 42.5, High: 57},
	{Name: "PoE type 4 PSE", Source: poe, Clause: "type 4, at the power sourcing equipment", Status: Secondary, Low: 52, High: 57},
	{Name: "PoE type 4 PD", Source: poe, Clause: "type 4, at the powered device", Status: Secondary, Low: 41.1, High: 57},
}

// plant are the events beside IEC 61131-2: what equipment for it states, not the standard.
var plant = []Event{
	{Name: "dynamic", Low: 18.5, High: 30.2, Clause: "dynamic range that equipment states", Status: Secondary},
	{Name: "non-periodic", Low: 35, High: 35, Lasts: "500 ms", Clause: "non-periodic peak that equipment states", Status: Secondary},
}

// Chemistries are the cells of which packs are made; a pack is named by its chemistry and its cells in series.
var Chemistries = []Chemistry{
	{Name: "Li-ion", Source: "common practice: charge to 4.2 V, discharge to 2.5 V a cell", Status: Derived, Low: 2.5, High: 4.2},
	{Name: "LFP", Source: "common practice: charge to 3.65 V, discharge to 2.5 V a cell", Status: Memory, Low: 2.5, High: 3.65},
	{Name: "lead-acid", Source: "common practice: charge to 2.45 V, discharge to 1.75 V a cell", Status: Derived, Low: 1.75, High: 2.45},
}

// Pulses are the test pulses that reach a supply behind a resistance.
var Pulses = []Pulse{
	{Name: "ISO 7637-2:2011 12 V 1 III", Source: iso7637, Clause: "A, table A.1, pulse 1", Status: Secondary, Level: -112, Resistance: [2]float64{10, 10}, Lasts: "2 ms"},
	{Name: "ISO 7637-2:2011 12 V 1 IV", Source: iso7637, Clause: "A, table A.1, pulse 1", Status: Secondary, Level: -150, Resistance: [2]float64{10, 10}, Lasts: "2 ms"},
	{Name: "ISO 7637-2:2011 12 V 2a III", Source: iso7637, Clause: "A, table A.1, pulse 2a", Status: Secondary, Level: 55, Resistance: [2]float64{2, 2}, Lasts: "50 us"},
	{Name: "ISO 7637-2:2011 12 V 2a IV", Source: iso7637, Clause: "A, table A.1, pulse 2a", Status: Secondary, Level: 112, Resistance: [2]float64{2, 2}, Lasts: "50 us"},
	{Name: "ISO 7637-2:2011 12 V 2b III", Source: iso7637, Clause: "A, table A.1, pulse 2b", Status: Memory, Level: 10, Resistance: [2]float64{0, 0.05}, Lasts: "0.2 s to 2 s"},
	{Name: "ISO 7637-2:2011 12 V 2b IV", Source: iso7637, Clause: "A, table A.1, pulse 2b", Status: Memory, Level: 10, Resistance: [2]float64{0, 0.05}, Lasts: "0.2 s to 2 s"},
	{Name: "ISO 7637-2:2011 12 V 3a III", Source: iso7637, Clause: "A, table A.1, pulse 3a", Status: Secondary, Level: -165, Resistance: [2]float64{50, 50}, Lasts: "150 ns, in bursts"},
	{Name: "ISO 7637-2:2011 12 V 3a IV", Source: iso7637, Clause: "A, table A.1, pulse 3a", Status: Secondary, Level: -220, Resistance: [2]float64{50, 50}, Lasts: "150 ns, in bursts"},
	{Name: "ISO 7637-2:2011 12 V 3b III", Source: iso7637, Clause: "A, table A.1, pulse 3b", Status: Secondary, Level: 112, Resistance: [2]float64{50, 50}, Lasts: "150 ns, in bursts"},
	{Name: "ISO 7637-2:2011 12 V 3b IV", Source: iso7637, Clause: "A, table A.1, pulse 3b", Status: Secondary, Level: 150, Resistance: [2]float64{50, 50}, Lasts: "150 ns, in bursts"},
	{Name: "ISO 7637-2:2011 24 V 1 IV", Source: iso7637, Clause: "A, pulse 1", Status: Memory, Level: -600, Resistance: [2]float64{50, 50}, Lasts: "1 ms"},
	{Name: "ISO 7637-2:2011 24 V 2a IV", Source: iso7637, Clause: "A, pulse 2a", Status: Memory, Level: 112, Resistance: [2]float64{2, 2}, Lasts: "50 us"},
	{Name: "ISO 7637-2:2011 24 V 2b IV", Source: iso7637, Clause: "A, pulse 2b", Status: Memory, Level: 20, Resistance: [2]float64{0, 0.05}, Lasts: "0.2 s to 2 s"},
	{Name: "ISO 7637-2:2011 24 V 3a IV", Source: iso7637, Clause: "A, pulse 3a", Status: Memory, Level: -300, Resistance: [2]float64{50, 50}, Lasts: "150 ns, in bursts"},
	{Name: "ISO 7637-2:2011 24 V 3b IV", Source: iso7637, Clause: "A, pulse 3b", Status: Memory, Level: 300, Resistance: [2]float64{50, 50}, Lasts: "150 ns, in bursts"},
}
