// Package intake holds recordings as people give them: files and folders,
// sidecars, events, people. What is made of them, the pipeline of package erp
// decides.
package intake
