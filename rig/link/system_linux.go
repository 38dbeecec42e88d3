package link

import (
	"fmt"
	"os"
	"os/user"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"syscall"
)

const driverAdvice = "look at the end of sudo dmesg for what the system made of it"

// usersOf names the other programs that have the port open, as far as this
// person may know.
func usersOf(path string) (users []string) {
	device, err := filepath.EvalSymlinks(path)
	if err != nil {
		return nil
	}
	descriptors, _ := filepath.Glob("/proc/[0-9]*/fd/*")
	for _, d := range descriptors {
		process := strings.Split(d, "/")[2]
		if target, err := os.Readlink(d); err != nil || target != device || process == strconv.Itoa(os.Getpid()) {
			continue
		}
		name, _ := os.ReadFile("/proc/" + process + "/comm")
		who := fmt.Sprintf("%s (process %s)", strings.TrimSpace(string(name)), process)
		if !slices.Contains(users, who) {
			users = append(users, who)
		}
	}
	return users
}

// keepFromChildren sees to it that no program started from here inherits an open
// port, as the library leaves it: such a program would hold the port, and the next
// opening would find it in use.
func keepFromChildren(path string) {
	device, err := filepath.EvalSymlinks(path)
	if err != nil {
		return
	}
	descriptors, _ := filepath.Glob("/proc/self/fd/*")
	for _, d := range descriptors {
		if target, err := os.Readlink(d); err != nil || target != device {
			continue
		}
		if fd, err := strconv.Atoi(filepath.Base(d)); err == nil {
			syscall.CloseOnExec(fd)
		}
	}
}

// permissionAdvice says how to get at a device file.
func permissionAdvice(path string) string {
	group, member := "dialout", false
	if info, err := os.Stat(path); err == nil {
		gid := strconv.Itoa(int(info.Sys().(*syscall.Stat_t).Gid))
		if g, err := user.LookupGroupId(gid); err == nil {
			group = g.Name
		}
		member = isMember(gid)
	}
	return groupAdvice(group, member)
}

// isMember reports whether the person has been put into a group, be it after
// logging in.
func isMember(gid string) bool {
	me, err := user.Current()
	if err != nil {
		return false
	}
	groups, err := me.GroupIds()
	return err == nil && slices.Contains(groups, gid)
}

func groupAdvice(group string, member bool) string {
	switch {
	case member:
		return "you are in the group " + group + ", but were not yet when you logged in: log out and in again (restart, if that is not enough)"
	case group == "root":
		return "the system keeps it from everybody: a rule of udev has to give it to the group dialout"
	}
	return "put yourself into the group " + group + " (sudo usermod -aG " + group + " $USER), then log out and in again"
}

// Driverless names USB chips of hobby boards that are plugged in but have no
// serial port.
func Driverless() []string { return driverless("/sys/bus/usb/devices") }

func driverless(root string) (found []string) {
	vendors, _ := filepath.Glob(filepath.Join(root, "*", "idVendor"))
	for _, file := range vendors {
		d := Device{Vendor: strings.ToUpper(line(file)), Product: strings.ToUpper(line(filepath.Join(filepath.Dir(file), "idProduct")))}
		if d.Chip() == "" || hasPort(filepath.Dir(file)) {
			continue
		}
		text := fmt.Sprintf("a USB device %s:%s (%s) is plugged in but has no port: ", d.Vendor, d.Product, d.Chip())
		if d.Vendor == "1A86" {
			text += "the braille service brltty takes this chip on some systems (sudo apt remove brltty); else "
		}
		found = append(found, text+driverAdvice)
	}
	return found
}

// hasPort reports whether a driver has made a serial port of a USB device.
func hasPort(device string) bool {
	for _, pattern := range []string{"*/ttyUSB*", "*/tty/tty*"} {
		if ports, _ := filepath.Glob(filepath.Join(device, pattern)); len(ports) > 0 {
			return true
		}
	}
	return false
}

func line(file string) string {
	text, _ := os.ReadFile(file)
	return strings.TrimSpace(string(text))
}
