package report

// The parts of SARIF 2.1.0 that are written here, named as in its specification.
type (
	sarifLog struct {
		Schema  string     `json:"$schema"`
		Version string     `json:"version"`
		Runs    []sarifRun `json:"runs"`
	}
	sarifRun struct {
		Tool        sarifTool         `json:"tool"`
		Invocations []sarifInvocation `json:"invocations"`
		ColumnKind  string            `json:"columnKind"`
		Results     []sarifResult     `json:"results"`
	}
	sarifTool struct {
		Driver sarifDriver `json:"driver"`
	}
	sarifDriver struct {
		Name           string      `json:"name"`
		Version        string      `json:"version"`
		InformationURI string      `json:"informationUri"`
		Rules          []sarifRule `json:"rules"`
	}
	sarifRule struct {
		ID                   string              `json:"id"`
		ShortDescription     sarifText           `json:"shortDescription"`
		Help                 *sarifText          `json:"help,omitempty"`
		DefaultConfiguration *sarifConfiguration `json:"defaultConfiguration,omitempty"`
	}
	sarifConfiguration struct {
		Level string `json:"level"`
	}
	sarifText struct {
		Text     string `json:"text"`
		Markdown string `json:"markdown,omitempty"`
	}
	sarifInvocation struct {
		ExecutionSuccessful        bool                `json:"executionSuccessful"`
		ToolExecutionNotifications []sarifNotification `json:"toolExecutionNotifications,omitempty"`
	}
	sarifNotification struct {
		Level     string          `json:"level"`
		Message   sarifText       `json:"message"`
		Locations []sarifLocation `json:"locations,omitempty"`
	}
	sarifResult struct {
		RuleID              string              `json:"ruleId"`
		RuleIndex           int                 `json:"ruleIndex"`
		Kind                string              `json:"kind"`
		Level               string              `json:"level"`
		Message             sarifText           `json:"message"`
		Locations           []sarifLocation     `json:"locations"`
		RelatedLocations    []sarifLocation     `json:"relatedLocations,omitempty"`
		PartialFingerprints map[string]string   `json:"partialFingerprints"`
		Suppressions        *[]sarifSuppression `json:"suppressions,omitempty"`
		Properties          *sarifProperties    `json:"properties,omitempty"`
	}
	sarifSuppression struct {
		Kind          string         `json:"kind"`
		Status        string         `json:"status"`
		Justification string         `json:"justification"`
		Location      *sarifLocation `json:"location,omitempty"`
	}
	sarifLocation struct {
		ID               *int           `json:"id,omitempty"`
		PhysicalLocation sarifPhysical  `json:"physicalLocation"`
		LogicalLocations []sarifLogical `json:"logicalLocations,omitempty"`
		Message          *sarifText     `json:"message,omitempty"`
	}
	sarifPhysical struct {
		ArtifactLocation sarifArtifact `json:"artifactLocation"`
		Region           *sarifRegion  `json:"region,omitempty"`
	}
	sarifArtifact struct {
		URI string `json:"uri"`
	}
	sarifRegion struct {
		StartLine   int `json:"startLine"`
		StartColumn int `json:"startColumn"`
		EndLine     int `json:"endLine"`
		EndColumn   int `json:"endColumn"`
	}
	sarifLogical struct {
		FullyQualifiedName string `json:"fullyQualifiedName"`
		Kind               string `json:"kind"`
	}
	sarifProperties struct {
		Grade    string   `json:"grade"`
		Quantity string   `json:"quantity,omitempty"`
		Unit     string   `json:"unit,omitempty"`
		Margin   *number  `json:"margin,omitempty"`
		Missing  []string `json:"missing,omitempty"`
		Assumed  []string `json:"assumed,omitempty"`
		Remedy   string   `json:"remedy,omitempty"`
		Advice   string   `json:"advice,omitempty"`
		Variant  string   `json:"variant,omitempty"`
	}
)
