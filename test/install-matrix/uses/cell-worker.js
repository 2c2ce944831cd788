import '@holdfast/sim/cell-worker';
