package page

import (
	"lowtide/casebook"
	"lowtide/intake"
	"lowtide/unit"
)

// PhotoPage takes a photo of a wound, and lists those that are there.
type PhotoPage struct {
	FormPage
	// Files are what is wrong with the file, in words.
	Files  []string
	Strips []Link
	Photos []PhotoLine
}

// PhotoLine is a photo in a list.
type PhotoLine struct {
	Words, Sizes string
	Href         string
}

// NotBroughtWords say what to do about a photo or log that did not come with its case.
const NotBroughtWords = "It was not brought along when the case was imported from a file. To bring it: in the store that the case comes from, write the case with its photos and logs (lowtide export CASE --with-files), and import that archive here."

// PhotoPath is the address of a photo's bytes, OutlinePath that of the page on which its outlines are drawn.
func PhotoPath(caseID, photo string) string   { return CasePath(caseID, "photo", photo) }
func OutlinePath(caseID, photo string) string { return CasePath(caseID, "outline", photo) }

// PhotoField is the name of the file in the form.
const PhotoField = "photo"

// NewPhoto builds the page.
func NewPhoto(frame Frame, in FormInput) PhotoPage {
	b := newFormBuilder(in.Typed)
	b.prepare(in, "")
	c := in.Case
	p := PhotoPage{FormPage: FormPage{Frame: frame, Heading: "Photo of a wound", Action: CasePath(c.ID, "photo"), Submit: "Keep the photo",
		Hidden: []FormField{hidden("-key", in.Key)}, Back: Link{CasePath(c.ID), "Leave without saving"}}}
	b.known[PhotoField] = "Photo"
	p.Files = b.wrong(PhotoField)
	if len(c.Wounds) == 0 {
		p.Warnings = append(p.Warnings, FormWarning{"No wound is recorded. A photo needs one.", &Link{CasePath(c.ID, "add", string(casebook.KindWoundFound)), "Record a wound"}})
	}
	p.Sections = append(b.sections(casebook.KindPhotoTaken, "", in), FormSection{Title: "When", Fields: []FormField{b.when("at", "When it was taken", in.Clock)}})
	p.Problems = b.list()
	p.Strips = []Link{{"/strips/a4", "Print the strips on A4"}, {"/strips/letter", "Print the strips on Letter"}}
	for i := len(c.Photos) - 1; i >= 0; i-- {
		p.Photos = append(p.Photos, photoLine(c, &c.Photos[i], in.Clock))
	}
	return p
}

// photoLine says what is known of a photo and of the outlines that were confirmed on it.
func photoLine(c *casebook.Case, photo *casebook.Photo, k Clock) PhotoLine {
	l := PhotoLine{Words: "Wound " + photo.Body.Wound + ", " + k.At(photo.At), Href: OutlinePath(c.ID, photo.ID), Sizes: "no outline confirmed yet"}
	var sizes []string
	for i := range c.Wounds {
		for _, o := range c.Wounds[i].Outlines {
			if o.Photo == photo.ID {
				sizes = append(sizes, "wound "+c.Wounds[i].Name+": "+areaWords(o.Body.AreaCm2, o.Body.AreaSECm2))
			}
		}
	}
	if len(sizes) > 0 {
		l.Sizes = joined("; ", sizes...)
	}
	return l
}

// areaWords says an area with its span.
func areaWords(cm2, se float64) string { return unit.Span(cm2, se, "cm²") }

// PhotoTooLarge is the problem of a file beyond [state.MostPhotoBytes].
var PhotoTooLarge = intake.Problem{Pointer: PhotoField, Code: intake.CodeSize, Message: "The photo's file is larger than 40 MB.", Remedy: "Set the camera to a smaller size, 12 megapixels are plenty, and choose the new photo."}
