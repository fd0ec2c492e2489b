package matrix

// New returns rows × columns zeros that lie side by side in memory.
func New(rows, columns int) [][]float64 {
	all := make([]float64, rows*columns)
	table := make([][]float64, rows)
	for i := range table {
		table[i] = all[i*columns : (i+1)*columns : (i+1)*columns]
	}
	return table
}
