// Package scan makes a head out of a scanned mesh on which the four landmarks
// were marked.
//
// [ReadMesh] reads a mesh in one of its file forms and [New] places it in head
// coordinates. A [Scan] is a surface as those of tape measures are: package
// layout places sites on it by the same rules, along tapes drawn tight over it.
//
// It finds no landmarks by itself and repairs no mesh.
package scan
