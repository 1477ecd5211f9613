#!/bin/sh
# Shortens what pip prints to one line for each package, so that a long installation is seen to go on.
# On a terminal the line is written over; in a log each stands for itself.
set -eu
count=0
while IFS= read -r line; do
    case "$line" in
    Collecting* | Processing*)
        count=$((count + 1))
        name=${line#* }
        name=${name##*/}
        name=${name%%[<>=!~; ]*}
        name=${name%%-[0-9]*}
        if [ -t 1 ]; then printf '\r\033[K  %d  %s' "$count" "$name"; else echo "  $count  $name"; fi
        ;;
    "Installing collected packages"*)
        if [ -t 1 ]; then printf '\r\033[K'; fi
        if [ "$count" -gt 5 ]; then echo "  unpacking $count packages (about a minute)"; fi
        ;;
    esac
done
