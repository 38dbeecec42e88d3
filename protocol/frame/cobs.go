package frame

// AppendCOBS appends the byte-stuffed form of src to dst (Cheshire and Baker,
// Consistent Overhead Byte Stuffing, IEEE/ACM Transactions on Networking 7(2),
// 1999). The form holds no zero byte and is at most len(src)+len(src)/254+1
// bytes long. The closing zero is not part of it.
func AppendCOBS(dst, src []byte) []byte {
	code := len(dst) // where the present block's code byte stands
	dst = append(dst, 1)
	for i, c := range src {
		if c == 0 {
			code = len(dst)
			dst = append(dst, 1)
			continue
		}
		dst = append(dst, c)
		dst[code]++
		if dst[code] == 0xFF && i+1 < len(src) {
			code = len(dst)
			dst = append(dst, 1)
		}
	}
	return dst
}

// unstuffer undoes the byte stuffing, one byte at a time.
type unstuffer struct {
	left int  // bytes of the present block still to come
	zero bool // the present block ends with a zero if another follows
}

// next takes one byte that is not zero. It gives the data byte it stands for,
// if it stands for one.
func (u *unstuffer) next(c byte) (data byte, ok bool) {
	if u.left > 0 {
		u.left--
		return c, true
	}
	zero := u.zero
	u.left, u.zero = int(c)-1, c != 0xFF
	return 0, zero
}
