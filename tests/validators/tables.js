// Judges a data package: its description, and every table by its schema.
// Usage: node tables.js FOLDER
const {Table, Schema} = require('tableschema'), {validate} = require('datapackage');
const fs = require('fs'), path = require('path'), folder = process.argv[2];
(async () => {
  const told = JSON.parse(fs.readFileSync(path.join(folder, 'datapackage.json')));
  const whole = await validate(told);
  if (!whole.valid) throw new Error(whole.errors.map(e => e.message).join(' | '));
  for (const resource of told.resources) {
    const schema = await Schema.load(resource.schema, {strict: true});
    const table = await Table.load(path.join(folder, resource.path), {schema, strict: true});
    console.log(resource.name, (await table.read({keyed: true})).length);
  }
})().catch(fault => {
  console.log(fault.message, (fault.errors || []).map(e => e.message).join(' | '));
  process.exit(1);
});
