import { readFile } from 'node:fs/promises';
import { expect, test } from './workshop';

test('the description that the types are made from is the server’s own', async ({ request }, info) => {
  test.skip(info.project.name !== 'desktop', 'once is enough');
  const served = await (await request.get('/api/openapi.json')).json();
  const kept = JSON.parse(await readFile('../docs/openapi.json', 'utf8'));
  expect(kept, 'write it anew into docs/openapi.json and run npm run schema').toEqual(served);
});
