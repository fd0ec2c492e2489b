package guide

// CheckGolden compares a page with the picture that was looked at and kept.
var CheckGolden = checkGolden
