//go:build !unix

package console

func keepNoMemory() {}
