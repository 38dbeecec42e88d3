package main

import "os"

// copyMachines lays the worked machines where a script can see them.
func copyMachines(dir string) error {
	return os.CopyFS(dir, os.DirFS(root+"/testdata/machines"))
}
