package intake

import (
	"archive/zip"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"sort"
	"strconv"
	"strings"

	"lowtide/casebook"
)

// An archive is a case file together with the photos and pump logs that its entries name: a ZIP file with case.json, the
// files, and contents.json, which lists them with size and SHA-256. docs/format/case.md describes it.

// The name and version of the archive format.
const (
	ArchiveFormat        = "lowtide.case-archive"
	ArchiveFormatVersion = 1
)

const (
	archiveCase     = "case.json"
	archiveContents = "contents.json"
	archiveFolder   = "files/"
	// mostArchiveFiles and mostFileBytes bound what is read: more files than entries can name within reason, and each
	// no larger than four times what a photo may have.
	mostArchiveFiles = 20_000
	mostFileBytes    = 64 << 20
	mostContents     = 16 << 20
	mostArchiveBytes = 4 << 30
)

// archiveList is contents.json.
type archiveList struct {
	Format  string        `json:"format"`
	Version int           `json:"version"`
	Files   []ArchiveFile `json:"files"`
}

// ArchiveFile is a photo or log in an archive.
type ArchiveFile struct {
	// Name is what entries call it: their blobs. SHA256 is the hash (hex) of the bytes as they are in the archive.
	Name   string `json:"name"`
	Path   string `json:"path"`
	Bytes  int64  `json:"bytes"`
	SHA256 string `json:"sha256"`
}

// Archive is an archive that was opened; its files were compared with the list in it.
type Archive struct {
	// CaseJSON is the case file, not read yet: give it to [Read].
	CaseJSON []byte
	Files    []ArchiveFile
	at       map[string]*zip.File
}

// IsArchive tells whether bytes begin as a ZIP file does.
func IsArchive(head []byte) bool {
	return bytes.HasPrefix(head, []byte("PK\x03\x04")) || bytes.HasPrefix(head, []byte("PK\x05\x06"))
}

// OpenArchive opens an archive and compares every file in it with the list; limits bound the case file. The archive may
// be used when the problems' Err is nil. r must stay readable as long as [Archive.Content] is called.
func OpenArchive(r io.ReaderAt, size int64, limits Limits) (*Archive, Problems) {
	if limits == (Limits{}) {
		limits = DefaultLimits
	}
	z, err := zip.NewReader(r, size)
	if err != nil {
		return nil, Problems{{Code: CodeSyntax, Message: "The file begins as an archive, and cannot be opened as one: " + err.Error() + ".", Remedy: "It may have been cut off on its way: fetch it again."}}
	}
	a := &Archive{at: map[string]*zip.File{}}
	var ps Problems
	wrong := func(pointer string, code Code, value, message, remedy string) {
		ps = append(ps, Problem{Pointer: pointer, Code: code, Value: value, Message: message, Remedy: remedy})
	}
	members := map[string]*zip.File{}
	for _, f := range z.File {
		if _, twice := members[f.Name]; twice {
			wrong("/"+shorten(f.Name), CodeDuplicateKey, shorten(f.Name), "The archive holds two files of this name.", "Export the case again.")
		}
		members[f.Name] = f
	}
	for name, most := range map[string]int64{archiveCase: int64(limits.Bytes), archiveContents: mostContents} {
		f := members[name]
		if f == nil {
			wrong("/"+name, CodeMissing, "", "The archive has no "+name+".", "Give an archive that lowtide export --with-files wrote; docs/format/case.md describes it.")
			continue
		}
		raw, err := readMember(f, most)
		if err != nil {
			wrong("/"+name, CodeSyntax, "", name+" cannot be read: "+err.Error()+".", "Fetch the archive again, or export the case again.")
			continue
		}
		if name == archiveCase {
			a.CaseJSON = raw
		} else {
			ps = append(ps, a.list(raw, members)...)
		}
	}
	sort.SliceStable(ps, func(i, j int) bool { return ps[i].Pointer < ps[j].Pointer })
	return a, ps
}

// list reads contents.json and compares every file that it lists.
func (a *Archive) list(raw []byte, members map[string]*zip.File) (ps Problems) {
	var l archiveList
	if err := json.Unmarshal(raw, &l); err != nil || l.Format != ArchiveFormat || l.Version != ArchiveFormatVersion || len(l.Files) > mostArchiveFiles {
		return Problems{{Pointer: "/" + archiveContents, Code: CodeFormat, Message: "contents.json is not a list of files that this program knows.", Remedy: "Give an archive that lowtide export --with-files wrote. A newer one needs a newer Lowtide."}}
	}
	total := uint64(0)
	for i, f := range l.Files {
		at := "/" + archiveContents + "/files/" + strconv.Itoa(i)
		wrong := func(field string, code Code, value, message string) {
			ps = append(ps, Problem{Pointer: at + field, Code: code, Value: shorten(value), Message: message,
				Remedy: "Fetch the archive again, or export the case again. Its case.json can be imported alone; the files then count as not brought along."})
		}
		m := members[f.Path]
		switch {
		case !isSHA256(f.Name) || !isSHA256(f.SHA256):
			wrong("/name", CodeFormat, f.Name, "The name and the hash of a file are 64 hexadecimal digits in lower case.")
			continue
		case a.at[f.Name] != nil:
			wrong("/name", CodeTwice, f.Name, "The file is listed twice.")
			continue
		case m == nil || !strings.HasPrefix(f.Path, archiveFolder):
			wrong("/path", CodeMissing, f.Path, "The file is listed, and is not in the archive.")
			continue
		}
		if total += m.UncompressedSize64; total > mostArchiveBytes || m.UncompressedSize64 > mostFileBytes {
			wrong("", CodeSize, f.Path, fmt.Sprintf("The file is larger than %d MiB, or all together are larger than %d MiB.", mostFileBytes>>20, mostArchiveBytes>>20))
			return ps
		}
		content, err := readMember(m, mostFileBytes)
		sum := sha256.Sum256(content)
		switch {
		case err != nil:
			wrong("", CodeSyntax, f.Path, "The file cannot be read: "+err.Error()+".")
			continue
		case int64(len(content)) != f.Bytes || hex.EncodeToString(sum[:]) != f.SHA256:
			wrong("/sha256", CodeContradicts, f.Path, "The file is not the one that was listed: its bytes give another hash.")
			continue
		}
		a.at[f.Name] = m
		a.Files = append(a.Files, f)
	}
	return ps
}

// readMember reads one member of at most that many bytes, whatever its header says.
func readMember(f *zip.File, most int64) ([]byte, error) {
	r, err := f.Open()
	if err != nil {
		return nil, err
	}
	defer r.Close()
	raw, err := io.ReadAll(io.LimitReader(r, most+1))
	if err == nil && int64(len(raw)) > most {
		err = fmt.Errorf("it is larger than %d MiB", most>>20)
	}
	return raw, err
}

// Has tells whether the archive holds the file that entries call name.
func (a *Archive) Has(name string) bool { return a != nil && a.at[name] != nil }

// Content reads a file by the name that entries give it. One that is not in the archive is [casebook.ErrNotBrought].
func (a *Archive) Content(name string) ([]byte, error) {
	if !a.Has(name) {
		return nil, casebook.ErrNotBrought
	}
	return readMember(a.at[name], mostFileBytes)
}

// FilesNamed lists the files that entries name, each once, ordered.
func FilesNamed(entries []casebook.Entry) []string {
	seen := map[string]bool{}
	names := []string{}
	for _, e := range entries {
		for _, b := range e.Blobs {
			if b != "" && !seen[b] {
				seen[b] = true
				names = append(names, b)
			}
		}
	}
	sort.Strings(names)
	return names
}

// WriteArchive writes a case file with the files that its entries name, which content gives. Those that content does not
// find are left out and returned. The same case and files give the same bytes.
func WriteArchive(w io.Writer, f CaseFile, content func(name string) ([]byte, error)) (missing []string, err error) {
	z := zip.NewWriter(w)
	var file bytes.Buffer
	if err := WriteCaseFile(&file, f); err != nil {
		return nil, err
	}
	if err := put(z, archiveCase, zip.Deflate, file.Bytes()); err != nil {
		return nil, err
	}
	list := archiveList{Format: ArchiveFormat, Version: ArchiveFormatVersion, Files: []ArchiveFile{}}
	for _, name := range FilesNamed(f.Entries) {
		raw, err := content(name)
		if errors.Is(err, casebook.ErrNotFound) {
			missing = append(missing, name)
			continue
		}
		if err != nil {
			return nil, err
		}
		sum := sha256.Sum256(raw)
		x := ArchiveFile{Name: name, Path: archiveFolder + name + ending(raw), Bytes: int64(len(raw)), SHA256: hex.EncodeToString(sum[:])}
		// Photos and logs are packed already.
		if err := put(z, x.Path, zip.Store, raw); err != nil {
			return nil, err
		}
		list.Files = append(list.Files, x)
	}
	raw, err := json.MarshalIndent(list, "", "  ")
	if err != nil {
		return nil, err
	}
	if err := put(z, archiveContents, zip.Deflate, append(raw, '\n')); err != nil {
		return nil, err
	}
	return missing, z.Close()
}

func put(z *zip.Writer, name string, method uint16, raw []byte) error {
	w, err := z.CreateHeader(&zip.FileHeader{Name: name, Method: method})
	if err != nil {
		return err
	}
	_, err = w.Write(raw)
	return err
}

// ending is what a file of this content is usually called, for whoever opens the archive by hand.
func ending(raw []byte) string {
	switch {
	case bytes.HasPrefix(raw, []byte("\xff\xd8\xff")):
		return ".jpg"
	case bytes.HasPrefix(raw, []byte("\x89PNG\r\n\x1a\n")):
		return ".png"
	}
	return ".log"
}
