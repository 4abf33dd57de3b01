package sentence

func JoinWords(words []string) string {
	s := ""
	for i, w := range words {
		if i > 0 {
			s += ", "
		}
		s += w
	}
	return s
}
