-- An invitation by which a person's new account takes the place of their old one. It uses up like any other.
CREATE TABLE takeover (
    invitation_id BIGINT NOT NULL PRIMARY KEY REFERENCES invitation (id),
    person_id BIGINT NOT NULL REFERENCES person (id)
);
