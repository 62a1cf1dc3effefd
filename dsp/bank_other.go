//go:build !amd64

package dsp

func bankRows(c *bankCoef, x [][]float32, warm, cells, step int, dst [][]float32) {
	bankRowsPortable(c, x, warm, cells, step, dst)
}
