// Package trigger makes events of a channel that holds no potentials: codes of
// a trigger or status channel, or a voltage that crosses a threshold, as that
// of a photosensor on the screen. It also measures how late the sensor is.
//
// An event's onset is the time of the first sample that shows it, so it is late
// by up to a sample, half a sample on average. The first sample of a gap-free
// stretch only says where things stand: what is on there did not begin there.
package trigger
