// npm start: from nothing to a running server. What follows "--" goes to the program.
import { spawn } from 'node:child_process';
import { binary, bundle, compile, install, main } from './steps.mjs';

const calledFrom = process.env.INIT_CWD ?? process.cwd(); // a relative --data means the folder where the person stands

await main(() => {
  install();
  bundle();
  compile();
  const server = spawn(`${process.cwd()}/${binary}`, process.argv.slice(2), { stdio: 'inherit', cwd: calledFrom });
  // An interrupt from the keyboard reaches the program by itself; the others are passed on.
  process.on('SIGINT', () => {});
  for (const signal of ['SIGTERM', 'SIGHUP']) process.on(signal, () => server.kill(signal));
  server.on('exit', (code) => process.exit(code ?? 1));
});
