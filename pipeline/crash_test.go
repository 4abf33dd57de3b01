package pipeline

func runCrashChild() {}
