// Package erptest holds what the tests of several rooms of topo share: invented
// and open recordings, reference numbers, checks. It is imported by tests
// alone.
package erptest
