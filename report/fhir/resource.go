package fhir

import "encoding/json"

// Only the elements that Lowtide writes or reads are here, in the order of the standard.

type coding struct {
	System  string `json:"system,omitempty"`
	Code    string `json:"code,omitempty"`
	Display string `json:"display,omitempty"`
}

type concept struct {
	Coding []coding `json:"coding,omitempty"`
	Text   string   `json:"text,omitempty"`
}

type reference struct {
	Reference string `json:"reference,omitempty"`
	Display   string `json:"display,omitempty"`
}

type identifier struct {
	Type   *concept `json:"type,omitempty"`
	System string   `json:"system,omitempty"`
	Value  string   `json:"value,omitempty"`
}

type quantity struct {
	Value  json.Number `json:"value,omitempty"`
	Unit   string      `json:"unit,omitempty"`
	System string      `json:"system,omitempty"`
	Code   string      `json:"code,omitempty"`
}

type period struct {
	Start string `json:"start,omitempty"`
	End   string `json:"end,omitempty"`
}

type annotation struct {
	Text string `json:"text"`
}

type textName struct {
	Use    string   `json:"use,omitempty"`
	Text   string   `json:"text,omitempty"`
	Family string   `json:"family,omitempty"`
	Given  []string `json:"given,omitempty"`
}

type contactPoint struct {
	System string `json:"system,omitempty"`
	Value  string `json:"value,omitempty"`
}

type address struct {
	Text string   `json:"text,omitempty"`
	Line []string `json:"line,omitempty"`
	City string   `json:"city,omitempty"`
}

type attachment struct {
	ContentType string `json:"contentType,omitempty"`
	Data        []byte `json:"data,omitempty"`
	Size        int    `json:"size,omitempty"`
	Hash        []byte `json:"hash,omitempty"`
	Title       string `json:"title,omitempty"`
	Creation    string `json:"creation,omitempty"`
}

// head is the start of every resource.
type head struct {
	ResourceType string `json:"resourceType"`
	ID           string `json:"id,omitempty"`
	Meta         *meta  `json:"meta,omitempty"`
}

func (h head) kind() (string, string) { return h.ResourceType, h.ID }

type meta struct {
	Security []coding `json:"security,omitempty"`
	Tag      []coding `json:"tag,omitempty"`
}

type patientContact struct {
	Relationship []concept      `json:"relationship,omitempty"`
	Name         *textName      `json:"name,omitempty"`
	Telecom      []contactPoint `json:"telecom,omitempty"`
}

type communication struct {
	Language concept `json:"language"`
}

type patient struct {
	head
	Identifier    []identifier     `json:"identifier,omitempty"`
	Name          []textName       `json:"name,omitempty"`
	BirthDate     string           `json:"birthDate,omitempty"`
	Address       []address        `json:"address,omitempty"`
	Contact       []patientContact `json:"contact,omitempty"`
	Communication []communication  `json:"communication,omitempty"`
}

type conditionStage struct {
	Summary *concept `json:"summary,omitempty"`
}

type condition struct {
	head
	Identifier     []identifier     `json:"identifier,omitempty"`
	ClinicalStatus *concept         `json:"clinicalStatus,omitempty"`
	Code           *concept         `json:"code,omitempty"`
	BodySite       []concept        `json:"bodySite,omitempty"`
	Subject        reference        `json:"subject"`
	OnsetDateTime  string           `json:"onsetDateTime,omitempty"`
	RecordedDate   string           `json:"recordedDate,omitempty"`
	Stage          []conditionStage `json:"stage,omitempty"`
	Note           []annotation     `json:"note,omitempty"`
}

type bodyStructure struct {
	head
	Identifier  []identifier `json:"identifier,omitempty"`
	Location    *concept     `json:"location,omitempty"`
	Description string       `json:"description,omitempty"`
	Patient     reference    `json:"patient"`
}

type parameter struct {
	Code                 *concept  `json:"code,omitempty"`
	ValueCodeableConcept *concept  `json:"valueCodeableConcept,omitempty"`
	ValueQuantity        *quantity `json:"valueQuantity,omitempty"`
	ValueBoolean         *bool     `json:"valueBoolean,omitempty"`
}

type deviceRequest struct {
	head
	Identifier          []identifier `json:"identifier,omitempty"`
	Status              string       `json:"status"`
	Intent              string       `json:"intent"`
	CodeCodeableConcept *concept     `json:"codeCodeableConcept,omitempty"`
	Parameter           []parameter  `json:"parameter,omitempty"`
	Subject             reference    `json:"subject"`
	OccurrencePeriod    *period      `json:"occurrencePeriod,omitempty"`
	AuthoredOn          string       `json:"authoredOn,omitempty"`
	Requester           *reference   `json:"requester,omitempty"`
	Note                []annotation `json:"note,omitempty"`
}

type deviceName struct {
	Name string `json:"name"`
	Type string `json:"type"`
}

type device struct {
	head
	Identifier []identifier `json:"identifier,omitempty"`
	DeviceName []deviceName `json:"deviceName,omitempty"`
	Type       *concept     `json:"type,omitempty"`
	Version    []version    `json:"version,omitempty"`
	Patient    *reference   `json:"patient,omitempty"`
}

type version struct {
	Value string `json:"value"`
}

type deviceUse struct {
	head
	Identifier   []identifier `json:"identifier,omitempty"`
	Status       string       `json:"status"`
	Subject      reference    `json:"subject"`
	TimingPeriod *period      `json:"timingPeriod,omitempty"`
	RecordedOn   string       `json:"recordedOn,omitempty"`
	Device       reference    `json:"device"`
	Note         []annotation `json:"note,omitempty"`
}

type component struct {
	Code                 concept   `json:"code"`
	ValueQuantity        *quantity `json:"valueQuantity,omitempty"`
	ValueCodeableConcept *concept  `json:"valueCodeableConcept,omitempty"`
	ValueString          string    `json:"valueString,omitempty"`
	ValueBoolean         *bool     `json:"valueBoolean,omitempty"`
	ValueInteger         *int      `json:"valueInteger,omitempty"`
	ValueDateTime        string    `json:"valueDateTime,omitempty"`
}

type observation struct {
	head
	Identifier        []identifier `json:"identifier,omitempty"`
	PartOf            []reference  `json:"partOf,omitempty"`
	Status            string       `json:"status"`
	Category          []concept    `json:"category,omitempty"`
	Code              concept      `json:"code"`
	Subject           *reference   `json:"subject,omitempty"`
	Focus             []reference  `json:"focus,omitempty"`
	EffectiveDateTime string       `json:"effectiveDateTime,omitempty"`
	EffectivePeriod   *period      `json:"effectivePeriod,omitempty"`
	Issued            string       `json:"issued,omitempty"`
	Performer         []reference  `json:"performer,omitempty"`
	ValueQuantity     *quantity    `json:"valueQuantity,omitempty"`
	ValueString       string       `json:"valueString,omitempty"`
	Note              []annotation `json:"note,omitempty"`
	BodySite          *concept     `json:"bodySite,omitempty"`
	Method            *concept     `json:"method,omitempty"`
	DerivedFrom       []reference  `json:"derivedFrom,omitempty"`
	Component         []component  `json:"component,omitempty"`
}

type procedure struct {
	head
	Identifier        []identifier `json:"identifier,omitempty"`
	Status            string       `json:"status"`
	Code              *concept     `json:"code,omitempty"`
	Subject           reference    `json:"subject"`
	PerformedDateTime string       `json:"performedDateTime,omitempty"`
	ReasonReference   []reference  `json:"reasonReference,omitempty"`
	Note              []annotation `json:"note,omitempty"`
}

type media struct {
	head
	Identifier      []identifier `json:"identifier,omitempty"`
	Status          string       `json:"status"`
	Type            *concept     `json:"type,omitempty"`
	Subject         *reference   `json:"subject,omitempty"`
	CreatedDateTime string       `json:"createdDateTime,omitempty"`
	BodySite        *concept     `json:"bodySite,omitempty"`
	Height          int          `json:"height,omitempty"`
	Width           int          `json:"width,omitempty"`
	Content         *attachment  `json:"content"`
}

type activityDetail struct {
	Kind            string   `json:"kind,omitempty"`
	Code            *concept `json:"code,omitempty"`
	Status          string   `json:"status"`
	ScheduledPeriod *period  `json:"scheduledPeriod,omitempty"`
	Description     string   `json:"description,omitempty"`
}

type activity struct {
	Reference *reference      `json:"reference,omitempty"`
	Detail    *activityDetail `json:"detail,omitempty"`
}

type carePlan struct {
	head
	Status      string      `json:"status"`
	Intent      string      `json:"intent"`
	Title       string      `json:"title,omitempty"`
	Description string      `json:"description,omitempty"`
	Subject     reference   `json:"subject"`
	Period      *period     `json:"period,omitempty"`
	Addresses   []reference `json:"addresses,omitempty"`
	Activity    []activity  `json:"activity,omitempty"`
}

type issueEvidence struct {
	Detail []reference `json:"detail,omitempty"`
}

type mitigation struct {
	Action concept `json:"action"`
}

type detectedIssue struct {
	head
	Status             string          `json:"status"`
	Code               *concept        `json:"code,omitempty"`
	Severity           string          `json:"severity,omitempty"`
	Patient            *reference      `json:"patient,omitempty"`
	IdentifiedDateTime string          `json:"identifiedDateTime,omitempty"`
	Author             *reference      `json:"author,omitempty"`
	Evidence           []issueEvidence `json:"evidence,omitempty"`
	Detail             string          `json:"detail,omitempty"`
	Mitigation         []mitigation    `json:"mitigation,omitempty"`
}

type agent struct {
	Type *concept  `json:"type,omitempty"`
	Who  reference `json:"who"`
}

type provenance struct {
	head
	Target   []reference `json:"target"`
	Recorded string      `json:"recorded"`
	Activity *concept    `json:"activity,omitempty"`
	Agent    []agent     `json:"agent"`
}

type documentContent struct {
	Attachment attachment `json:"attachment"`
}

type documentReference struct {
	head
	Status      string            `json:"status"`
	Type        *concept          `json:"type,omitempty"`
	Subject     *reference        `json:"subject,omitempty"`
	Date        string            `json:"date,omitempty"`
	Description string            `json:"description,omitempty"`
	Content     []documentContent `json:"content"`
}

type bundleEntry struct {
	FullURL  string       `json:"fullUrl,omitempty"`
	Resource any          `json:"resource,omitempty"`
	Search   *entrySearch `json:"search,omitempty"`
}

type entrySearch struct {
	Mode string `json:"mode"`
}

type bundleLink struct {
	Relation string `json:"relation"`
	URL      string `json:"url"`
}

type bundle struct {
	head
	Identifier *identifier   `json:"identifier,omitempty"`
	Type       string        `json:"type"`
	Timestamp  string        `json:"timestamp,omitempty"`
	Total      *int          `json:"total,omitempty"`
	Link       []bundleLink  `json:"link,omitempty"`
	Entry      []bundleEntry `json:"entry,omitempty"`
}
