#!/bin/sh
# Makes gnu-units.tsv with GNU units (2.22, definitions 3.15): sh gnu-units.sh > gnu-units.tsv
# A count of length per mass is turned over by hand, for units would only say that it is the reciprocal. A ticket is three
# times the count (metricyarncount, cottonyarncount); a weight number is km per kg, which is metricyarncount.
set -eu


expr_of() { # value, our name
	case $2 in
	tex) echo "$1 tex" ;;
	dtex) echo "$1 dtex" ;;
	denier) echo "$1 denier" ;;
	Nm | wt) echo "1/($1 metricyarncount)" ;;
	Ne) echo "1/($1 cottonyarncount)" ;;
	NeL) echo "1/($1 linenyarncount)" ;;
	NeW) echo "1/($1 worstedyarncount)" ;;
	metricTicket) echo "1/(($1/3) metricyarncount)" ;;
	cottonTicket) echo "1/(($1/3) cottonyarncount)" ;;
	esac
}

# From any system to tex, and from tex to any system: the others follow.
to_of() { # tex, our name: the figure in that system
	case $2 in
	tex | dtex | denier) units -t -o '%.15g' "$1 tex" "$2" ;;
	Nm | wt) units -t -o '%.15g' "1/($1 tex)" metricyarncount ;;
	Ne) units -t -o '%.15g' "1/($1 tex)" cottonyarncount ;;
	NeL) units -t -o '%.15g' "1/($1 tex)" linenyarncount ;;
	NeW) units -t -o '%.15g' "1/($1 tex)" worstedyarncount ;;
	metricTicket) units -t -o '%.15g' "3/($1 tex)" metricyarncount ;;
	cottonTicket) units -t -o '%.15g' "3/($1 tex)" cottonyarncount ;;
	esac
}

for system in tex dtex denier Nm Ne NeL NeW wt metricTicket cottonTicket; do
	for value in 7.5 12 30 40 50 60 120 1000; do
		printf 'count\t%s\t%s\ttex\t%s\n' "$value" "$system" "$(units -t -o '%.15g' "$(expr_of $value $system)" tex)"
		printf 'count\t%s\ttex\t%s\t%s\n' "$value" "$system" "$(to_of $value $system)"
	done
done
for unit in mm cm m in ft yd; do
	for value in 0.25 1.5 2.54 10 90 108; do
		printf 'length\t%s\t%s\tmm\t%s\n' "$value" "$unit" "$(units -t -o '%.15g' "$value $unit" mm)"
	done
done
