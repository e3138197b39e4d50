#!/usr/bin/env bash
# Runs the linter for the action. Everything comes through the environment: TOOL, NETLISTS, FAIL_ON, PARTS, HOUSE,
# INTENT, POLICY, TIMEOUT.
set -euo pipefail
shopt -s globstar nullglob

args=(--format annotations "--fail-on=$FAIL_ON" "--timeout=${TIMEOUT:-5m}")
while IFS= read -r line; do
	[ -z "$line" ] || args+=("--parts=$line")
done <<<"${PARTS:-}"
[ -z "${POLICY:-}" ] || args+=("--policy=$POLICY")
while IFS= read -r line; do
	[ -z "$line" ] || args+=("--house=$line")
done <<<"${HOUSE:-}"
[ -z "${INTENT:-}" ] || args+=("--intent=$INTENT")

netlists=()
while IFS= read -r line; do
	line=${line#"${line%%[![:space:]]*}"}
	line=${line%"${line##*[![:space:]]}"}
	[ -n "$line" ] || continue
	IFS= found=($line) # a glob; nothing else in the line is expanded
	if [ ${#found[@]} -eq 0 ]; then
		echo "no netlist fits $line"
		exit 2
	fi
	netlists+=("${found[@]}")
done <<<"$NETLISTS"
if [ ${#netlists[@]} -eq 0 ]; then
	echo "no netlist was named"
	exit 2
fi

exec "$TOOL" lint "${args[@]}" -- "${netlists[@]}"
