// Package screen finds bad electrodes: flat, noisy, unlike their neighbours or
// exchanged. What is done about them, a repair or a warning, package erp
// decides.
package screen
