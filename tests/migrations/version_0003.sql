-- A file of version 0003, of an invented site, as the program wrote it then. It never changes.
BEGIN TRANSACTION;
CREATE TABLE alembic_version (
	version_num VARCHAR(32) NOT NULL, 
	CONSTRAINT alembic_version_pkc PRIMARY KEY (version_num)
);
INSERT INTO "alembic_version" VALUES('0003');
CREATE TABLE approved_build (
	site_id INTEGER NOT NULL, 
	position INTEGER NOT NULL, 
	hardware_revision TEXT NOT NULL, 
	module_type TEXT NOT NULL, 
	version TEXT NOT NULL, 
	build_id TEXT NOT NULL, 
	sequence INTEGER NOT NULL, 
	image_digest TEXT NOT NULL, 
	earlier TEXT NOT NULL, 
	CONSTRAINT pk_approved_build PRIMARY KEY (site_id, position), 
	CONSTRAINT fk_approved_build_site_id_site FOREIGN KEY(site_id) REFERENCES site (id)
);
INSERT INTO "approved_build" VALUES(1,0,'H4','tracking','2.1.3','a-40',40,'ab','["2.0.4", "1.8.0"]');
CREATE TABLE broker (
	site_id INTEGER NOT NULL, 
	url TEXT NOT NULL, 
	added_at TEXT NOT NULL, 
	CONSTRAINT pk_broker PRIMARY KEY (site_id, url), 
	CONSTRAINT fk_broker_site_id_site FOREIGN KEY(site_id) REFERENCES site (id)
);
INSERT INTO "broker" VALUES(1,'mqtt://127.0.0.1:9','2026-11-25T12:00:18.000000Z');
CREATE TABLE build_match (
	site_id INTEGER NOT NULL, 
	position INTEGER NOT NULL, 
	hardware_revision TEXT NOT NULL, 
	module_type TEXT NOT NULL, 
	module_firmware TEXT NOT NULL, 
	version TEXT NOT NULL, 
	word TEXT NOT NULL, 
	CONSTRAINT pk_build_match PRIMARY KEY (site_id, position), 
	CONSTRAINT fk_build_match_site_id_site FOREIGN KEY(site_id) REFERENCES site (id)
);
INSERT INTO "build_match" VALUES(1,0,'H4','tracking','5.2','2.1.3','allowed');
CREATE TABLE certificate_pin (
	"key" TEXT NOT NULL, 
	sha256 TEXT NOT NULL, 
	first_seen_at TEXT NOT NULL, 
	CONSTRAINT pk_certificate_pin PRIMARY KEY ("key")
);
INSERT INTO "certificate_pin" VALUES('S-1','abababababababababababababababababababababababababababababababab','2026-11-25T12:00:00.000000Z');
CREATE TABLE document (
	sha256 TEXT NOT NULL, 
	content TEXT NOT NULL, 
	CONSTRAINT pk_document PRIMARY KEY (sha256)
);
INSERT INTO "document" VALUES('8793ebd9b3d550e71397b3c864069bf1af540ae5f57052db3696cc7db9755aa9','{"walked": {"hall": 1.5}}');
CREATE TABLE evidence (
	id INTEGER NOT NULL, 
	site_id INTEGER, 
	kind TEXT NOT NULL, 
	subject TEXT NOT NULL, 
	sha256 TEXT NOT NULL, 
	taken_at TEXT NOT NULL, 
	CONSTRAINT pk_evidence PRIMARY KEY (id), 
	CONSTRAINT fk_evidence_sha256_document FOREIGN KEY(sha256) REFERENCES document (sha256), 
	CONSTRAINT fk_evidence_site_id_site FOREIGN KEY(site_id) REFERENCES site (id)
);
INSERT INTO "evidence" VALUES(1,1,'lap','house','8793ebd9b3d550e71397b3c864069bf1af540ae5f57052db3696cc7db9755aa9','2026-11-25T12:00:12.000000Z');
CREATE TABLE floor (
	site_id INTEGER NOT NULL, 
	"key" TEXT NOT NULL, 
	position INTEGER NOT NULL, 
	name TEXT NOT NULL, 
	level INTEGER NOT NULL, 
	CONSTRAINT pk_floor PRIMARY KEY (site_id, "key"), 
	CONSTRAINT fk_floor_site_id_site FOREIGN KEY(site_id) REFERENCES site (id)
);
INSERT INTO "floor" VALUES(1,'ground',0,'Ground floor',0);
INSERT INTO "floor" VALUES(1,'first',1,'First floor',1);
CREATE TABLE journal (
	number INTEGER NOT NULL, 
	at TEXT NOT NULL, 
	what TEXT NOT NULL, 
	subject TEXT NOT NULL, 
	detail TEXT NOT NULL, 
	previous_sha256 TEXT NOT NULL, 
	sha256 TEXT NOT NULL, 
	CONSTRAINT pk_journal PRIMARY KEY (number)
);
INSERT INTO "journal" VALUES(1,'2026-11-25T12:00:03.000000Z','site-added','Test Lodge','{"rooms": 2, "units": 3}','','0069933badfccc70121b77ef7edcc443efe06ef769edd9e3dc32fbf37e4c3801');
INSERT INTO "journal" VALUES(2,'2026-11-25T12:00:04.000000Z','sighted','S-1','{"heard_at": "2026-11-25T12:00:00.000Z", "url": "http://127.0.0.1:9/"}','0069933badfccc70121b77ef7edcc443efe06ef769edd9e3dc32fbf37e4c3801','81aea678cda540b41110c44246a72baafd833f2b68295b8c6bb5e78bd453a253');
INSERT INTO "journal" VALUES(3,'2026-11-25T12:00:05.000000Z','read','S-1','{"read_at": "2026-11-25T12:00:00.000Z", "sheet_sha256": "74265e31dc4c1f0baaf57a6c3bcba636992efc61c6d58549ac72f02867c1786b", "url": "http://127.0.0.1:9/"}','81aea678cda540b41110c44246a72baafd833f2b68295b8c6bb5e78bd453a253','9d1e54cccf4a1409afaee9157ac0799596a92bb5832df5b71e083c44b684eb9e');
INSERT INTO "journal" VALUES(4,'2026-11-25T12:00:07.000000Z','planned-item-decided','S-1','{"by": "A", "item": "areas.2.kind", "value": null, "why": "not wanted"}','9d1e54cccf4a1409afaee9157ac0799596a92bb5832df5b71e083c44b684eb9e','384b17d9efbfd3a77a1118fbd06001b3599ba70d05da1e5ffce5e1161b801be4');
INSERT INTO "journal" VALUES(5,'2026-11-25T12:00:09.000000Z','ticked','hall','{"by": "A", "item": "walk", "said": "ok"}','384b17d9efbfd3a77a1118fbd06001b3599ba70d05da1e5ffce5e1161b801be4','2dec2ba011c50499fe3c5652b66b66c065e37e21fee2fd35ccd3205e46fd545c');
INSERT INTO "journal" VALUES(6,'2026-11-25T12:00:10.000000Z','signed','hall','{"exceptions": {"soak": "agreed"}, "name": "B", "role": "owner"}','2dec2ba011c50499fe3c5652b66b66c065e37e21fee2fd35ccd3205e46fd545c','7a1487eee9ef61be47f07fe9e8101e2a97c98d33216ca78f18b90fbda7f8e3d6');
INSERT INTO "journal" VALUES(7,'2026-11-25T12:00:11.000000Z','left','S-1','{"at": "2026-11-25T12:00:00.000Z", "sheet_sha256": "1c4df84b30f1b3f04f3eb27e67a83698c4f75b964a803b201459bb5f81ad6105", "why": "signed"}','7a1487eee9ef61be47f07fe9e8101e2a97c98d33216ca78f18b90fbda7f8e3d6','8b5b06108764977935474995226af944c31e712425160e99ed6c7f673d0a1b83');
INSERT INTO "journal" VALUES(8,'2026-11-25T12:00:13.000000Z','evidence-kept','house','{"kind": "lap", "sha256": "8793ebd9b3d550e71397b3c864069bf1af540ae5f57052db3696cc7db9755aa9"}','8b5b06108764977935474995226af944c31e712425160e99ed6c7f673d0a1b83','0716a792677284fb0710dc926f4629c2817c3381b47c77361eec20c202536555');
INSERT INTO "journal" VALUES(9,'2026-11-25T12:00:14.000000Z','step-intended','S-1','{"before": {"areas.1.kind": "watch", "setting.hold_time_s": 20}, "items": {"areas.1.kind": null, "setting.hold_time_s": 30}, "label": "U1", "part": "settings", "serial": "S-1", "url": "http://127.0.0.1:9/"}','0716a792677284fb0710dc926f4629c2817c3381b47c77361eec20c202536555','d9685e2e864f33b9e8ab476f573393e9ad1c50f9c550422cbefc1b560c3c5d4d');
INSERT INTO "journal" VALUES(10,'2026-11-25T12:00:15.000000Z','step-concluded','S-1','{"intent": 9, "said": "read back", "state": "done", "step": "step-9"}','d9685e2e864f33b9e8ab476f573393e9ad1c50f9c550422cbefc1b560c3c5d4d','2030bdeb3b17cc6cdeb363ba9caeb17fa85bd6ab94ad0f71a0aa7402e93f1996');
INSERT INTO "journal" VALUES(11,'2026-11-25T12:00:16.000000Z','step-intended','S-1','{"before": {"areas.1.kind": "watch", "setting.hold_time_s": 20}, "items": {"areas.1.kind": null, "setting.hold_time_s": 31}, "label": "U1", "part": "settings", "serial": "S-1", "url": "http://127.0.0.1:9/"}','2030bdeb3b17cc6cdeb363ba9caeb17fa85bd6ab94ad0f71a0aa7402e93f1996','ac50a4d2d8db660bcb6d09d28f4ad14b221f8178ead835a104bada599425a0f8');
INSERT INTO "journal" VALUES(12,'2026-11-25T12:00:17.000000Z','certificate-trusted','S-1','{"sha256": "abababababababababababababababababababababababababababababababab"}','ac50a4d2d8db660bcb6d09d28f4ad14b221f8178ead835a104bada599425a0f8','f9ad6dfccfad98f1854c876b3ee53bc01a2b5a477756da6f31446b5377c84ef6');
INSERT INTO "journal" VALUES(13,'2026-11-25T12:00:19.000000Z','broker-added','mqtt://127.0.0.1:9','{}','f9ad6dfccfad98f1854c876b3ee53bc01a2b5a477756da6f31446b5377c84ef6','7169e59d3e8d2177579f607f7a4f31e06c55de3e6370764bc0fa6afe50b592d1');
CREATE TABLE planned_item (
	site_id INTEGER NOT NULL, 
	serial TEXT NOT NULL, 
	"key" TEXT NOT NULL, 
	value TEXT NOT NULL, 
	why TEXT NOT NULL, 
	"by" TEXT NOT NULL, 
	at TEXT NOT NULL, 
	CONSTRAINT pk_planned_item PRIMARY KEY (site_id, serial, "key"), 
	CONSTRAINT fk_planned_item_site_id_site FOREIGN KEY(site_id) REFERENCES site (id)
);
INSERT INTO "planned_item" VALUES(1,'S-1','areas.2.kind','null','not wanted','A','2026-11-25T12:00:06.000000Z');
CREATE TABLE reading (
	id INTEGER NOT NULL, 
	site_id INTEGER, 
	serial TEXT NOT NULL, 
	sheet_id INTEGER NOT NULL, 
	url TEXT NOT NULL, 
	title TEXT NOT NULL, 
	read_at TEXT NOT NULL, 
	capabilities TEXT NOT NULL, 
	area_revision INTEGER, 
	signal_dbm INTEGER, 
	other TEXT NOT NULL, 
	missing TEXT NOT NULL, 
	complaints TEXT NOT NULL, access TEXT DEFAULT '' NOT NULL, 
	CONSTRAINT pk_reading PRIMARY KEY (id), 
	CONSTRAINT fk_reading_sheet_id_sheet FOREIGN KEY(sheet_id) REFERENCES sheet (id), 
	CONSTRAINT fk_reading_site_id_site FOREIGN KEY(site_id) REFERENCES site (id)
);
INSERT INTO "reading" VALUES(1,1,'S-1',3,'http://127.0.0.1:9/','A unit','2026-11-25T12:00:00.000000Z','{"max_areas": 4, "step_m": 0.5, "walks": true, "word": "w"}',7,-60,'{"mood": "good"}','["its build"]','["two names"]','');
CREATE TABLE room (
	site_id INTEGER NOT NULL, 
	"key" TEXT NOT NULL, 
	position INTEGER NOT NULL, 
	floor TEXT NOT NULL, 
	name TEXT NOT NULL, 
	kind TEXT NOT NULL, 
	outline_mm TEXT NOT NULL, 
	doors TEXT NOT NULL, 
	marks TEXT NOT NULL, 
	CONSTRAINT pk_room PRIMARY KEY (site_id, "key"), 
	CONSTRAINT fk_room_site_id_floor_floor FOREIGN KEY(site_id, floor) REFERENCES floor (site_id, "key")
);
INSERT INTO "room" VALUES(1,'hall',0,'ground','Hall','circulation','[[0, 0], [3000, 0], [3000, 3000], [0, 3000]]','[{"end_mm": [0, 900], "start_mm": [0, 100]}]','[{"kind": "fan", "label": "Fan", "points_mm": [[5, 6]]}]');
INSERT INTO "room" VALUES(1,'loft',1,'first','Loft','bedroom','[[0, 0], [3000, 0], [3000, 3000], [0, 3000]]','[]','[]');
CREATE TABLE room_template (
	site_id INTEGER NOT NULL, 
	level TEXT NOT NULL, 
	subject TEXT NOT NULL, 
	document TEXT NOT NULL, 
	"by" TEXT NOT NULL, 
	at TEXT NOT NULL, 
	why TEXT NOT NULL, 
	CONSTRAINT pk_room_template PRIMARY KEY (site_id, level, subject), 
	CONSTRAINT fk_room_template_site_id_site FOREIGN KEY(site_id) REFERENCES site (id)
);
CREATE TABLE room_visit (
	visit_id INTEGER NOT NULL, 
	position INTEGER NOT NULL, 
	site_id INTEGER NOT NULL, 
	room TEXT NOT NULL, 
	shown TEXT NOT NULL, 
	open TEXT NOT NULL, 
	CONSTRAINT pk_room_visit PRIMARY KEY (visit_id, position), 
	CONSTRAINT fk_room_visit_site_id_room_room FOREIGN KEY(site_id, room) REFERENCES room (site_id, "key"), 
	CONSTRAINT fk_room_visit_visit_id_visit FOREIGN KEY(visit_id) REFERENCES visit (id)
);
INSERT INTO "room_visit" VALUES(1,0,1,'hall','["walk"]','["soak"]');
INSERT INTO "room_visit" VALUES(1,1,1,'loft','["walk"]','[]');
CREATE TABLE sheet (
	id INTEGER NOT NULL, 
	site_id INTEGER, 
	kind TEXT NOT NULL, 
	serial TEXT, 
	label TEXT, 
	visit_id INTEGER, 
	at TEXT NOT NULL, 
	why TEXT NOT NULL, 
	CONSTRAINT pk_sheet PRIMARY KEY (id), 
	CONSTRAINT fk_sheet_site_id_label_unit FOREIGN KEY(site_id, label) REFERENCES unit (site_id, label), 
	CONSTRAINT fk_sheet_site_id_site FOREIGN KEY(site_id) REFERENCES site (id), 
	CONSTRAINT fk_sheet_visit_id_visit FOREIGN KEY(visit_id) REFERENCES visit (id)
);
INSERT INTO "sheet" VALUES(1,1,'as left','S-1','U1',1,'2026-09-03T15:40:00.000000Z','left by Invented Installer');
INSERT INTO "sheet" VALUES(2,1,'as left',NULL,'U2',1,'2026-09-03T15:40:00.000000Z','left by Invented Installer');
INSERT INTO "sheet" VALUES(3,1,'found','S-1',NULL,NULL,'2026-11-25T12:00:00.000000Z','read');
INSERT INTO "sheet" VALUES(4,1,'as left','S-1',NULL,NULL,'2026-11-25T12:00:00.000000Z','signed');
CREATE TABLE sheet_item (
	sheet_id INTEGER NOT NULL, 
	"key" TEXT NOT NULL, 
	value TEXT NOT NULL, 
	CONSTRAINT pk_sheet_item PRIMARY KEY (sheet_id, "key"), 
	CONSTRAINT fk_sheet_item_sheet_id_sheet FOREIGN KEY(sheet_id) REFERENCES sheet (id)
);
INSERT INTO "sheet_item" VALUES(1,'setting.hold_time_s','20');
INSERT INTO "sheet_item" VALUES(1,'build.version','"2.1.3"');
INSERT INTO "sheet_item" VALUES(2,'build.sequence','40');
INSERT INTO "sheet_item" VALUES(3,'setting.hold_time_s','30');
INSERT INTO "sheet_item" VALUES(3,'setting.indicator_light','true');
INSERT INTO "sheet_item" VALUES(3,'module.type','"x"');
INSERT INTO "sheet_item" VALUES(4,'setting.hold_time_s','45');
CREATE TABLE sighting (
	id INTEGER NOT NULL, 
	site_id INTEGER, 
	serial TEXT NOT NULL, 
	name TEXT NOT NULL, 
	url TEXT NOT NULL, 
	host TEXT NOT NULL, 
	heard_at TEXT NOT NULL, service_type TEXT DEFAULT '' NOT NULL, txt TEXT DEFAULT '{}' NOT NULL, 
	CONSTRAINT pk_sighting PRIMARY KEY (id), 
	CONSTRAINT fk_sighting_site_id_site FOREIGN KEY(site_id) REFERENCES site (id), 
	CONSTRAINT uq_sighting_site_id_serial UNIQUE (site_id, serial)
);
INSERT INTO "sighting" VALUES(1,1,'S-1','Unit 1','http://127.0.0.1:9/','unit-1.local','2026-11-25T12:00:00.000000Z','','{}');
CREATE TABLE signature (
	id INTEGER NOT NULL, 
	site_id INTEGER NOT NULL, 
	room TEXT NOT NULL, 
	visit_id INTEGER, 
	visit_position INTEGER, 
	name TEXT NOT NULL, 
	role TEXT NOT NULL, 
	signed_at TEXT NOT NULL, 
	exceptions TEXT NOT NULL, 
	CONSTRAINT pk_signature PRIMARY KEY (id), 
	CONSTRAINT fk_signature_site_id_room_room FOREIGN KEY(site_id, room) REFERENCES room (site_id, "key"), 
	CONSTRAINT fk_signature_visit_id_visit FOREIGN KEY(visit_id) REFERENCES visit (id)
);
INSERT INTO "signature" VALUES(1,1,'hall',1,0,'Invented Client','client','2026-09-03T15:40:00.000000Z','{"soak": "to be shown later"}');
INSERT INTO "signature" VALUES(2,1,'hall',NULL,NULL,'B','owner','2026-11-25T12:00:00.000000Z','{"soak": "agreed"}');
CREATE TABLE site (
	id INTEGER NOT NULL, 
	name TEXT NOT NULL, 
	address TEXT NOT NULL, 
	demo BOOLEAN NOT NULL, 
	note TEXT NOT NULL, 
	plan_format TEXT NOT NULL, 
	added_at TEXT NOT NULL, 
	chosen_order INTEGER NOT NULL, 
	CONSTRAINT pk_site PRIMARY KEY (id), 
	CONSTRAINT uq_site_name UNIQUE (name)
);
INSERT INTO "site" VALUES(1,'Test Lodge','An invented address',1,'Invented for tests.','walkdown-plan/1','2026-11-25T12:00:02.000000Z',1);
CREATE TABLE soak_note (
	visit_id INTEGER NOT NULL, 
	position INTEGER NOT NULL, 
	site_id INTEGER NOT NULL, 
	label TEXT NOT NULL, 
	empty_s INTEGER NOT NULL, 
	episodes INTEGER NOT NULL, 
	CONSTRAINT pk_soak_note PRIMARY KEY (visit_id, position), 
	CONSTRAINT fk_soak_note_site_id_label_unit FOREIGN KEY(site_id, label) REFERENCES unit (site_id, label), 
	CONSTRAINT fk_soak_note_visit_id_visit FOREIGN KEY(visit_id) REFERENCES visit (id)
);
INSERT INTO "soak_note" VALUES(1,0,1,'U1',3600,1);
CREATE TABLE step (
	"key" TEXT NOT NULL, 
	site_id INTEGER, 
	intent INTEGER NOT NULL, 
	serial TEXT NOT NULL, 
	label TEXT NOT NULL, 
	url TEXT NOT NULL, 
	part TEXT NOT NULL, 
	items TEXT NOT NULL, 
	"before" TEXT NOT NULL, 
	intended_at TEXT NOT NULL, 
	state TEXT NOT NULL, 
	said TEXT NOT NULL, 
	settled_at TEXT, 
	CONSTRAINT pk_step PRIMARY KEY ("key"), 
	CONSTRAINT fk_step_intent_journal FOREIGN KEY(intent) REFERENCES journal (number), 
	CONSTRAINT fk_step_site_id_site FOREIGN KEY(site_id) REFERENCES site (id), 
	CONSTRAINT uq_step_intent UNIQUE (intent)
);
INSERT INTO "step" VALUES('step-9',1,9,'S-1','U1','http://127.0.0.1:9/','settings','{"areas.1.kind": null, "setting.hold_time_s": 30}','{"areas.1.kind": "watch", "setting.hold_time_s": 20}','2026-11-25T12:00:14.000000Z','done','read back','2026-11-25T12:00:15.000000Z');
INSERT INTO "step" VALUES('step-11',1,11,'S-1','U1','http://127.0.0.1:9/','settings','{"areas.1.kind": null, "setting.hold_time_s": 31}','{"areas.1.kind": "watch", "setting.hold_time_s": 20}','2026-11-25T12:00:16.000000Z','in doubt','',NULL);
CREATE TABLE tick (
	site_id INTEGER NOT NULL, 
	room TEXT NOT NULL, 
	item TEXT NOT NULL, 
	"by" TEXT NOT NULL, 
	said TEXT NOT NULL, 
	at TEXT NOT NULL, 
	CONSTRAINT pk_tick PRIMARY KEY (site_id, room, item), 
	CONSTRAINT fk_tick_site_id_room_room FOREIGN KEY(site_id, room) REFERENCES room (site_id, "key")
);
INSERT INTO "tick" VALUES(1,'hall','walk','A','ok','2026-11-25T12:00:08.000000Z');
CREATE TABLE unit (
	site_id INTEGER NOT NULL, 
	label TEXT NOT NULL, 
	position INTEGER NOT NULL, 
	serial TEXT, 
	room TEXT NOT NULL, 
	module_type TEXT NOT NULL, 
	hardware_revision TEXT NOT NULL, 
	x_mm INTEGER NOT NULL, 
	y_mm INTEGER NOT NULL, 
	heading_mdeg INTEGER NOT NULL, 
	upside_down BOOLEAN NOT NULL, 
	height_mm INTEGER NOT NULL, 
	changed_at TEXT NOT NULL, 
	CONSTRAINT pk_unit PRIMARY KEY (site_id, label), 
	CONSTRAINT fk_unit_site_id_room_room FOREIGN KEY(site_id, room) REFERENCES room (site_id, "key"), 
	CONSTRAINT uq_unit_site_id_serial UNIQUE (site_id, serial)
);
INSERT INTO "unit" VALUES(1,'U1',0,'S-1','hall','tracking','H4',10,20,90000,1,1800,'2026-11-25T12:00:02.000000Z');
INSERT INTO "unit" VALUES(1,'U2',1,NULL,'loft','tracking','H4',10,20,90000,1,1800,'2026-11-25T12:00:02.000000Z');
INSERT INTO "unit" VALUES(1,'U3',2,'S-3','loft','tracking','H4',10,20,90000,1,1800,'2026-11-25T12:00:02.000000Z');
CREATE TABLE unit_area (
	site_id INTEGER NOT NULL, 
	label TEXT NOT NULL, 
	position INTEGER NOT NULL, 
	"key" TEXT NOT NULL, 
	name TEXT NOT NULL, 
	kind TEXT NOT NULL, 
	outline_mm TEXT NOT NULL, 
	CONSTRAINT pk_unit_area PRIMARY KEY (site_id, label, position), 
	CONSTRAINT fk_unit_area_site_id_label_unit FOREIGN KEY(site_id, label) REFERENCES unit (site_id, label)
);
INSERT INTO "unit_area" VALUES(1,'U1',0,'1','Bed','watch','[[0, 0], [3000, 0], [3000, 3000], [0, 3000]]');
INSERT INTO "unit_area" VALUES(1,'U3',0,'1','Bed','watch','[[0, 0], [3000, 0], [3000, 3000], [0, 3000]]');
CREATE TABLE unit_setting (
	site_id INTEGER NOT NULL, 
	label TEXT NOT NULL, 
	"key" TEXT NOT NULL, 
	position INTEGER NOT NULL, 
	value TEXT NOT NULL, 
	CONSTRAINT pk_unit_setting PRIMARY KEY (site_id, label, "key"), 
	CONSTRAINT fk_unit_setting_site_id_label_unit FOREIGN KEY(site_id, label) REFERENCES unit (site_id, label)
);
INSERT INTO "unit_setting" VALUES(1,'U1','hold_time_s',0,'20');
INSERT INTO "unit_setting" VALUES(1,'U1','indicator_light',1,'false');
INSERT INTO "unit_setting" VALUES(1,'U1','a word',2,'"ä"');
INSERT INTO "unit_setting" VALUES(1,'U3','hold_time_s',0,'20');
INSERT INTO "unit_setting" VALUES(1,'U3','indicator_light',1,'false');
INSERT INTO "unit_setting" VALUES(1,'U3','a word',2,'"ä"');
CREATE TABLE visit (
	id INTEGER NOT NULL, 
	site_id INTEGER NOT NULL, 
	position INTEGER NOT NULL, 
	left_at TEXT NOT NULL, 
	"by" TEXT NOT NULL, 
	CONSTRAINT pk_visit PRIMARY KEY (id), 
	CONSTRAINT fk_visit_site_id_site FOREIGN KEY(site_id) REFERENCES site (id)
);
INSERT INTO "visit" VALUES(1,1,0,'2026-09-03T15:40:00.000000Z','Invented Installer');
CREATE INDEX ix_evidence_site_id_kind_subject ON evidence (site_id, kind, subject);
CREATE INDEX ix_step_site_id_settled_at ON step (site_id, settled_at);
CREATE INDEX ix_sheet_site_id_kind_serial ON sheet (site_id, kind, serial);
CREATE INDEX ix_reading_site_id_serial ON reading (site_id, serial);
COMMIT;
