package seal

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"unsafe"

	"golang.org/x/sys/windows"
)

// guarded looks at the access list of the open file, not at its name, so that it cannot be exchanged in between; and
// at that of its folder, in which others must not be able to take the file away and put another in its place.
func guarded(f *os.File, path string) error {
	if _, err := regular(f); err != nil {
		return err
	}
	me, err := user()
	if err != nil {
		return err
	}
	sd, err := windows.GetSecurityInfo(windows.Handle(f.Fd()), windows.SE_FILE_OBJECT, windows.OWNER_SECURITY_INFORMATION|windows.DACL_SECURITY_INFORMATION)
	if err != nil {
		return fmt.Errorf("its access list cannot be read: %w", err)
	}
	file, err := listOf(sd)
	if err != nil {
		return err
	}
	sd, err = windows.GetNamedSecurityInfo(filepath.Dir(path), windows.SE_FILE_OBJECT, windows.OWNER_SECURITY_INFORMATION|windows.DACL_SECURITY_INFORMATION)
	if err != nil {
		return fmt.Errorf("the access list of its folder cannot be read: %w", err)
	}
	folder, err := listOf(sd)
	if err != nil {
		return err
	}
	return accessLists(file, folder, me, path)
}

// user is the SID of whoever runs the program.
func user() (string, error) {
	u, err := windows.GetCurrentProcessToken().GetTokenUser()
	if err != nil {
		return "", fmt.Errorf("who runs the program is not known: %w", err)
	}
	return u.User.Sid.String(), nil
}

// listOf reads the access list of a file or folder.
func listOf(sd *windows.SECURITY_DESCRIPTOR) (accessList, error) {
	var l accessList
	owner, _, err := sd.Owner()
	if err != nil {
		return l, fmt.Errorf("its owner cannot be read: %w", err)
	}
	l.owner = owner.String()
	dacl, _, err := sd.DACL()
	if errors.Is(err, windows.ERROR_OBJECT_NOT_FOUND) || (err == nil && dacl == nil) {
		l.none = true
		return l, nil
	}
	if err != nil {
		return l, fmt.Errorf("its access list cannot be read: %w", err)
	}
	for i := range uint32(dacl.AceCount) {
		var ace *windows.ACCESS_ALLOWED_ACE
		if err := windows.GetAce(dacl, i, &ace); err != nil {
			return l, fmt.Errorf("its access list cannot be read: %w", err)
		}
		e := access{kind: ace.Header.AceType, flags: ace.Header.AceFlags, mask: uint32(ace.Mask)}
		if plain(e.kind) {
			e.who = (*windows.SID)(unsafe.Pointer(&ace.SidStart)).String()
		}
		l.entries = append(l.entries, e)
	}
	return l, nil
}

// NewFile makes an empty file that only its owner, the system and administrators may read, from its first moment on.
// Error: [fs.ErrExist] when the name is taken.
func NewFile(name string) (*os.File, error) {
	me, err := user()
	if err != nil {
		return nil, err
	}
	sd, err := windows.SecurityDescriptorFromString("D:P(A;;FA;;;" + me + ")(A;;FA;;;" + system + ")(A;;FA;;;" + administrators + ")")
	if err != nil {
		return nil, err
	}
	sa := &windows.SecurityAttributes{SecurityDescriptor: sd}
	sa.Length = uint32(unsafe.Sizeof(*sa))
	wide, err := windows.UTF16PtrFromString(name)
	if err != nil {
		return nil, err
	}
	h, err := windows.CreateFile(wide, windows.GENERIC_READ|windows.GENERIC_WRITE, 0, sa, windows.CREATE_NEW, windows.FILE_ATTRIBUTE_NORMAL, 0)
	if err != nil {
		return nil, &fs.PathError{Op: "create", Path: name, Err: err}
	}
	return os.NewFile(uintptr(h), name), nil
}
