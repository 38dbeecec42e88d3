package machine

const templateHead = `# A machine file for govrig.
#
# Fill in the values below. Quantities are written with their unit: 8.5 mm,
# 120 g·m², 1650 rpm. Without these signs on the keyboard: g*m2, cm3, us, deg.
# A line such as "#travel: 90°" shows what is assumed; take away its # to change
# it. "govrig plan" with the name of this file checks it and prints the sheet.
#
# Caution: nothing in this file makes a part stronger. The greatest head speed
# that the blade maker allows comes first, and nobody stands in the plane of
# turning blades. Where local rules or the maker's manual ask for more, they
# hold.

`

// Template writes a new machine file with remarks. Answers replace values by
// path, such as "engine.displacement" or "gears[0].driver"; the other values
// are those of an invented machine, brought to the size of the machine. Errors
// are Faults; what counts in them is their Path.
func Template(answers map[string]string) (string, error) {
	values := scaled(answers)
	text, m, err := write(answers, values)
	const load = "load_step.collective_high"
	if _, answered := answers[load]; answered || err != nil {
		return text, err
	}
	values[load] = File.ByPath[load].Dimension.Round(newLoad(m).climb(float64(m.Speeds[0].HeadSpeed), climbPower), "°")
	text, _, err = write(answers, values)
	return text, err
}

// write gives a new file and what is read from it.
func write(answers, values map[string]string) (string, *Machine, error) {
	text, err := File.Write(templateHead, answers, values)
	if err != nil {
		return "", nil, err
	}
	m, err := Parse("new", []byte(text))
	if err != nil {
		return "", nil, err
	}
	return text, m, nil
}
