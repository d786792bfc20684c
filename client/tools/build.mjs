// npm run build: one static binary with the client inside.
import { binary, bundle, compile, install, main, version } from './steps.mjs';

await main(() => {
  install();
  bundle();
  compile();
  console.log(`${binary}, version ${version}`);
});
