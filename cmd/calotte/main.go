// Command calotte maps event-related potentials over the scalp.
package main

func main() {}
