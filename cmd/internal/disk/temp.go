package disk

import "os"

// Temp makes a folder that only this user can reach, until remove.
func Temp() (path string, remove func(), err error) {
	path, err = os.MkdirTemp("", "calotte-*")
	if err != nil {
		return "", nil, err
	}
	return path, func() { os.RemoveAll(path) }, nil
}
