package logline

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"github.com/DeRuina/timberjack"
	"go.uber.org/zap"
	"go.uber.org/zap/zapcore"

	"tracewheel/config"
	"tracewheel/pipeline/store"
)

// Open gives the log of a workroom: plain lines for people on the console, JSON lines for
// machines in a rotated file. Call the second value when nothing logs any more.
func Open(room *config.Workroom, console io.Writer) (*zap.Logger, func(), error) {
	level, err := zapcore.ParseLevel(room.Log.Level)
	if err != nil {
		return nil, nil, fmt.Errorf("log.level: %w", err)
	}
	file := room.Path(room.Log.File)
	if err := os.MkdirAll(filepath.Dir(file), store.Private); err != nil {
		return nil, nil, fmt.Errorf("the log's folder: %w", err)
	}
	if err := protectLogs(file); err != nil {
		return nil, nil, fmt.Errorf("closing the log to others: %w", err)
	}
	rotated := &timberjack.Logger{Filename: file, FileMode: store.PrivateFile, MaxSize: room.Log.Megabytes, MaxBackups: room.Log.Files}
	forMachines := zap.NewProductionEncoderConfig()
	forMachines.EncodeTime = zapcore.RFC3339NanoTimeEncoder
	core := zapcore.NewTee(
		newPlainCore(console, level),
		zapcore.NewCore(zapcore.NewJSONEncoder(forMachines), zapcore.AddSync(rotated), level),
	)
	log := zap.New(core)
	return log, func() {
		_ = log.Sync() // a console that cannot be synced is no fault
		_ = rotated.Close()
	}, nil
}

// protectLogs closes the log and its old ones to others; an earlier version left them open.
func protectLogs(file string) error {
	ending := filepath.Ext(file)
	old, err := filepath.Glob(strings.TrimSuffix(file, ending) + "-*" + ending + "*")
	for _, path := range append(old, file) {
		if cerr := os.Chmod(path, store.PrivateFile); !errors.Is(cerr, fs.ErrNotExist) {
			err = errors.Join(err, cerr)
		}
	}
	return err
}
