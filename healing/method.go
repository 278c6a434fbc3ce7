package healing

import (
	"math"
	"strings"
)

// Method is one way to take an area, with its published reading relative to a traced outline.
type Method struct {
	ID string `json:"id"`
	// Name is how a page calls it.
	Name string `json:"name"`
	// Factor is what the method reads for each cm² of traced outline.
	Factor float64 `json:"factor"`
	// FactorSDLog is the spread of the factor from wound to wound, as a standard deviation of its logarithm.
	FactorSDLog float64 `json:"factor_sd_log"`
	// CV is the standard error of one reading as a share of the area, used when none was stated.
	CV float64 `json:"cv"`
	// Source says where factor and spread come from.
	Source string `json:"source"`
	// group says which bias it shares: 0 none, 1 ruler, 2 all others that are not traced.
	group int
	// spellings are accepted names, letters and digits only.
	spellings []string
}

// Methods lists what is known about ways to take an area. The one scale of the package is the traced outline:
// a reading is divided by its method's factor, and the factor's own uncertainty is carried (eq. 2).
//
// Sources: ruler over-reads by 41 % on average (Rogers 2010, J Diabetes Sci Technol 4:799) and by 29 to 43 %
// (Jørgensen 2016, Int Wound J 13:540, quoting Shetty); the ellipse is π/4 of that (geometry). Spread of the
// factor: chosen to cover a true ellipse (1.27) and the published range within two deviations. Tracing and photo
// agree with each other (intraclass correlation .97 to .99: Majeske 1992, Lucas 2002, Landa 2016). The readings'
// own errors (CV) are common practice, no published source: limits of agreement were not found.
var Methods = []Method{
	{ID: "outline", Name: "traced outline", Factor: 1, CV: 0.05, Source: "the reference scale",
		spellings: []string{"outline", "tracing", "traced", "trace", "planimetry", "digitalplanimetry", "acetate", "acetatetracing"}},
	{ID: "photo", Name: "photo", Factor: 1, FactorSDLog: 0.04, CV: 0.05, group: 2,
		Source:    "Landa 2016 (Int Wound J 13:619), agreement between raters .99",
		spellings: []string{"photo", "photograph", "image", "camera", "photooutline"}},
	{ID: "ruler", Name: "ruler, length x width", Factor: 1.40, FactorSDLog: 0.08, CV: 0.10, group: 1,
		Source:    "Rogers 2010 (J Diabetes Sci Technol 4:799); Jørgensen 2016 (Int Wound J 13:540)",
		spellings: []string{"ruler", "rulerlw", "rulerlxw", "lw", "lxw", "lengthwidth", "lengthxwidth", "rulerlengthxwidth", "rulerlengthwidth"}},
	{ID: "ellipse", Name: "ruler, ellipse of length and width", Factor: 1.40 * math.Pi / 4, FactorSDLog: 0.08, CV: 0.10, group: 1,
		Source:    "the ruler's factor times π/4 (geometry)",
		spellings: []string{"ellipse", "rulerellipse", "kundin", "ellipselw"}},
	{ID: "estimate", Name: "estimate by eye", Factor: 1, FactorSDLog: 0.20, CV: 0.20, group: 2,
		Source:    "common practice, no published source",
		spellings: []string{"estimate", "eye", "visual", "estimated"}},
	{ID: "unknown", Name: "method not stated", Factor: 1, FactorSDLog: 0.10, CV: 0.08, group: 2,
		Source: "common practice, no published source", spellings: []string{"", "unknown", "other"}},
}

// MethodOf finds a method by name; known is false when the name means nothing here, and the unknown one is returned.
func MethodOf(name string) (m Method, known bool) {
	key := strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z', r >= '0' && r <= '9':
			return r
		case r >= 'A' && r <= 'Z':
			return r - 'A' + 'a'
		case r == '×':
			return 'x'
		}
		return -1
	}, name)
	for _, m := range Methods {
		for _, s := range m.spellings {
			if s == key {
				return m, true
			}
		}
	}
	return Methods[len(Methods)-1], false
}

// Errors of depth and volume where none is stated, as a share of the value and as a floor. Published: perimeter
// and depth are less reliable than volume and area (Schubert and Zander 1996); the sizes are common practice, no
// published source.
const (
	depthCV, depthFloorCm    = 0.08, 0.10
	volumeCV, volumeFloorCm3 = 0.12, 0.20
)

// AreaFloorCm2 is the error of an area that no method goes below. Common practice, no published source.
const AreaFloorCm2 = 0.03

// SE is the standard error of an area in cm², as the method reads it, where none was stated.
func (m Method) SE(cm2 float64) float64 { return m.CV*cm2 + AreaFloorCm2/2*m.Factor }

// DepthSE is the standard error of a depth in cm where none was stated.
func DepthSE(cm float64) float64 { return math.Hypot(depthCV*cm, depthFloorCm) }

// VolumeSE is the standard error of a volume in cm³ where none was stated.
func VolumeSE(cm3 float64) float64 { return math.Hypot(volumeCV*cm3, volumeFloorCm3) }
