#!/usr/bin/env bash
# A sweep as a job array of a cluster that runs Slurm: each job does one share, the shares one after the other are the whole.
#
#   sbatch --array=1-64 examples/programs/sweep/sweep-job-array.sh --axis focusShiftUm=0:600:25 --axis snr=5,10,20,50,100,200 --trials 100000
#   cat sweep-part-{1..64}.jsonl > sweep.jsonl          # when all jobs have ended
#
# A job that was killed goes on where it stopped when it is submitted again (sbatch --array=7 ... for part 7). Where there is no
# cluster, GNU parallel does the same on one machine or several:
#
#   parallel --jobs 4 npm run --silent sweep -- --workers 1 --part {}/64 --out sweep-part-{}.jsonl ::: {1..64}
#
#SBATCH --job-name=holdfast-sweep
#SBATCH --cpus-per-task=1
#SBATCH --mem=1G
#SBATCH --time=02:00:00
set -eu
part=${SLURM_ARRAY_TASK_ID:?run this by sbatch --array=1-N}
parts=${SLURM_ARRAY_TASK_COUNT:?run this by sbatch --array=1-N}
cd "${SLURM_SUBMIT_DIR:-$(dirname "$0")/../../..}"
exec node examples/dist/programs/holdfast.js sweep --workers 1 --part "$part/$parts" --out "sweep-part-$part.jsonl" "$@"
