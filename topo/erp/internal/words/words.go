package words

import "fmt"

// Number is "1 sample", "2 samples".
func Number(n int, one string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %ss", n, one)
}

// People is "1 person", "2 people".
func People(n int) string {
	if n == 1 {
		return "1 person"
	}
	return fmt.Sprintf("%d people", n)
}
