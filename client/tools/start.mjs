// npm start: from nothing to a running server. Arguments go to the program.
import { spawn } from 'node:child_process';
import { binary, build, install } from './steps.mjs';

install();
build();
const server = spawn(binary, process.argv.slice(2), { stdio: 'inherit' });
for (const signal of ['SIGINT', 'SIGTERM']) process.on(signal, () => server.kill(signal));
server.on('exit', (code, signal) => process.exit(code ?? (signal ? 1 : 0)));
