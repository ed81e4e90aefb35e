package claims

// SizeGone reports whether the size of a place can't be had, and the sponsor
// has no other on offer or none that suits: then the rules let the place be
// skipped. It stays so once the place was skipped.
func (p Place) SizeGone() bool {
	if p.Shipping.Sent() {
		return false
	}
	wait := p.sizeWaits()
	return wait == WaitOffer || wait == WaitSuits
}
