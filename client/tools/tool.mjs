// Runs a tool written in TypeScript: node client/tools/tool.mjs NAME ARGUMENTS. What it needs is installed first. What its
// default export returns is the exit code.
import { install, main } from './steps.mjs';

await main(async () => {
  install();
  const { runnerImport } = await import('vite');
  const [name, ...args] = process.argv.slice(2);
  const { module } = await runnerImport(`./client/tools/${name}.ts`, { configFile: false, logLevel: 'error' });
  process.exit(await module.default(args));
});
