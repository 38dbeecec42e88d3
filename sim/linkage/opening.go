package linkage

import "fmt"

// Opening is the open share of the carburettor's full area, 0 to 1, at servo
// travel u, and how steeply it grows: d(share)/du, per half travel. The errors
// are those of Pose.
func (l *Linkage) Opening(u float64) (share, slope float64, err error) {
	pose, err := l.At(u)
	if err != nil {
		return 0, 0, err
	}
	turned := pose.Carb - l.p.CarbOpen
	return l.p.Barrel.Share(turned),
		l.p.Barrel.ShareSlope(turned) * pose.Slope * l.p.Travel,
		nil
}

// Table is the open share, 0 to 1, at n points spread evenly over the servo's
// travel from -1, the closed end, to +1, the open end. n is at least 2.
func (l *Linkage) Table(n int) ([]float64, error) {
	if n < 2 {
		return nil, fmt.Errorf("a table needs 2 points or more, not %d", n)
	}
	table := make([]float64, n)
	for i := range table {
		share, _, err := l.Opening(-1 + 2*float64(i)/float64(n-1))
		if err != nil {
			return nil, err
		}
		table[i] = share
	}
	return table, nil
}
