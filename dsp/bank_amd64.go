package dsp

// bankRows has eight stretches side by side pass the sections that the bands
// share, and then the bands of two, twice, their own.
func bankRows(c *bankCoef, x [][]float32, warm, cells, step int, dst [][]float32) {
	if !fast {
		bankRowsPortable(c, x, warm, cells, step, dst)
		return
	}
	n := warm + cells*step
	var from, to [rowsAtOnce]*float32
	for i := range from { // where there are fewer, the last is filtered again
		k := min(i, len(x)-1)
		from[i], to[i] = &x[k][0], &dst[k][0]
	}
	d := scratch(rowsAtOnce * n)
	interleave(*d, &from, x, n)
	sharedAVX2(c, &(*d)[0], n)
	for i := 0; i < len(x); i += 4 {
		ownAVX2(c, &(*d)[i], warm, cells, step, &to[i])
	}
	spare.Put(d)
}

// interleave lays the stretches side by side: the first sample of each, then
// the second.
func interleave(d []float32, from *[rowsAtOnce]*float32, x [][]float32, n int) {
	whole := n &^ 3
	if whole > 0 {
		interleaveAVX2(&d[0], from, whole)
	}
	for i := range rowsAtOnce {
		row := x[min(i, len(x)-1)]
		for k := whole; k < n; k++ {
			d[rowsAtOnce*k+i] = row[k]
		}
	}
}

//go:noescape
func interleaveAVX2(d *float32, x *[rowsAtOnce]*float32, n int)

//go:noescape
func sharedAVX2(c *bankCoef, d *float32, n int)

//go:noescape
func ownAVX2(c *bankCoef, d *float32, warm, cells, step int, dst **float32)
