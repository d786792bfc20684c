// npm run build: one static binary with the client inside.
import { binary, build, install } from './steps.mjs';

install();
build();
console.log(`built ${binary}`);
