#!/bin/sh
# One task of a job array: measures its share of a list of sessions.
#
# usage: array.sh LIST FOLDER
#
# What starts the tasks numbers them from 1 in TASK and says how many there are in TASKS; give these from the
# variables of your batch system. Every task writes FOLDER/TASK.jsonl, and goes on where it stopped when it is
# started again. When all have ended:
#
#	cat FOLDER/*.jsonl > results.jsonl
set -eu
list=$1 folder=$2
mkdir -p "$folder"
awk -v task="$TASK" -v tasks="$TASKS" 'NR % tasks == task % tasks' "$list" |
	"${PIPELINE:-pipeline}" -workers "${WORKERS:-1}" -resume "$folder/$TASK.jsonl"
