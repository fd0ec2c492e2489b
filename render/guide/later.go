package guide

func (b *book) strips(*plan) error { return nil }
func (b *book) landmarks()         {}
func (b *book) fan()               {}
func (b *book) ladder()            {}
