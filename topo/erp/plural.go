package erp

import "fmt"

// number is "1 sample", "2 samples".
func number(n int, one string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %ss", n, one)
}
